-- Records of batches only grow.
CREATE TRIGGER batches_no_update BEFORE UPDATE ON batches
  BEGIN SELECT RAISE(ABORT, 'records of batches only grow'); END;

CREATE TRIGGER batches_no_delete BEFORE DELETE ON batches
  BEGIN SELECT RAISE(ABORT, 'records of batches only grow'); END;
