-- What was said, beside its English words: the key of each sentence and its figures, as JSON (daemon/words/sentence.h), so
-- that it can be read in another language or unit. Rows of before have their words alone.

ALTER TABLE ledger ADD COLUMN said TEXT NOT NULL DEFAULT '';
ALTER TABLE notices ADD COLUMN said TEXT NOT NULL DEFAULT '';

-- When whoever looks after the house hears of it once more, if nobody has acknowledged it by then; NULL: not, or has.
ALTER TABLE notices ADD COLUMN unheard_ms INTEGER;

-- Where a bench was while it shuttles: four lines a day would hide all else in the ledger. Numbered with it, so that both together
-- are what was decided.
CREATE TABLE carried (
  id          INTEGER PRIMARY KEY,
  journal_seq INTEGER NOT NULL,
  ordinal     INTEGER NOT NULL,
  time_ms     INTEGER NOT NULL,
  bench       TEXT NOT NULL,
  decision    TEXT NOT NULL,
  cause       TEXT NOT NULL,
  json        TEXT NOT NULL,
  said        TEXT NOT NULL,
  UNIQUE (journal_seq, ordinal)
) STRICT;

CREATE TRIGGER carried_is_kept BEFORE DELETE ON carried
BEGIN SELECT RAISE(ABORT, 'the ledger is never deleted from'); END;
CREATE TRIGGER carried_is_final BEFORE UPDATE ON carried
BEGIN SELECT RAISE(ABORT, 'the ledger is never changed'); END;
