-- The table that the fifth state adds.
CREATE TABLE batches (
  seq BIGINT NOT NULL,
  lot VARCHAR(64) NOT NULL,
  content TEXT NOT NULL,
  recorded_us BIGINT NOT NULL,
  by_whom TEXT NOT NULL,
  link VARCHAR(64) NOT NULL,
  CONSTRAINT pk_batches PRIMARY KEY (seq)
);
