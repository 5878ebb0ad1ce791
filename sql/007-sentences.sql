-- What was said, beside its English words: the key of each sentence and its figures, as JSON (daemon/words/sentence.h), so
-- that it can be read in another language or unit. Rows of before have their words alone.

ALTER TABLE ledger ADD COLUMN said TEXT NOT NULL DEFAULT '';
ALTER TABLE notices ADD COLUMN said TEXT NOT NULL DEFAULT '';
