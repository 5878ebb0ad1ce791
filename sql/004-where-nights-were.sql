-- Where a bench stood for most of the night. NULL: a night from before this was kept.

ALTER TABLE nights ADD COLUMN position TEXT;

-- For a bench's page, which shows its orders of the last weeks.
CREATE INDEX outbox_topic ON outbox (topic, id);

-- For a season's holds: a ledger is mostly other decisions.
CREATE INDEX ledger_decision ON ledger (decision, id);
