-- The columns and tables that the third state adds.
ALTER TABLE cooks ADD COLUMN link VARCHAR(64) DEFAULT '' NOT NULL;

ALTER TABLE sessions ADD COLUMN browser TEXT DEFAULT '' NOT NULL;

CREATE TABLE seals (
  cook_id VARCHAR(64) NOT NULL,
  seq BIGINT NOT NULL,
  link VARCHAR(64) NOT NULL,
  CONSTRAINT pk_seals PRIMARY KEY (cook_id, seq),
  CONSTRAINT fk_seals_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE told_to (
  cook_id VARCHAR(64) NOT NULL,
  alert_key TEXT NOT NULL,
  address VARCHAR(64) NOT NULL,
  CONSTRAINT pk_told_to PRIMARY KEY (cook_id, alert_key, address),
  CONSTRAINT fk_told_to_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE meat_said (
  cook_id VARCHAR(64) NOT NULL,
  item VARCHAR(200) NOT NULL,
  number INTEGER NOT NULL,
  words TEXT NOT NULL,
  said_us BIGINT NOT NULL,
  said_by TEXT NOT NULL,
  CONSTRAINT pk_meat_said PRIMARY KEY (cook_id, item, number),
  CONSTRAINT fk_meat_said_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);
