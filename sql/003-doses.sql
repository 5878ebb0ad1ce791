-- A pump's report that the broker delivers again changes nothing: it has the same body, with the time in it.

CREATE UNIQUE INDEX journal_dose ON journal (body) WHERE kind = 5;
