-- Where a bench stood for most of the night. NULL: a night from before this was kept.

ALTER TABLE nights ADD COLUMN position TEXT;
