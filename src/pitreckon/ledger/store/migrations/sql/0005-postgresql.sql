-- Records of batches only grow.
CREATE FUNCTION batches_only_grow() RETURNS trigger LANGUAGE plpgsql AS
  $$ BEGIN RAISE EXCEPTION 'records of batches only grow'; END $$;

CREATE TRIGGER batches_no_change BEFORE UPDATE OR DELETE OR TRUNCATE ON batches
  FOR EACH STATEMENT EXECUTE FUNCTION batches_only_grow();
