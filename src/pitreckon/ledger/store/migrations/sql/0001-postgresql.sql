-- The ledger only grows.
CREATE FUNCTION events_only_grow() RETURNS trigger LANGUAGE plpgsql AS
  $$ BEGIN RAISE EXCEPTION 'the ledger only grows'; END $$;

CREATE TRIGGER events_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON events
  FOR EACH STATEMENT EXECUTE FUNCTION events_only_grow();
