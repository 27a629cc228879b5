-- The tables of the first state, for both kinds of database; what differs between them stands in braces.
CREATE TABLE cooks (
  id VARCHAR(64) NOT NULL,
  name TEXT NOT NULL,
  plan_toml TEXT NOT NULL,
  plan_version INTEGER NOT NULL,
  created_us BIGINT NOT NULL,
  last_seq BIGINT NOT NULL,
  CONSTRAINT pk_cooks PRIMARY KEY (id)
);

CREATE TABLE events (
  cook_id VARCHAR(64) NOT NULL,
  seq BIGINT NOT NULL,
  id VARCHAR(64) NOT NULL,
  at_us BIGINT NOT NULL,
  recorded_us BIGINT NOT NULL,
  kind VARCHAR(10) NOT NULL,
  what VARCHAR(20) NOT NULL,
  on_label TEXT NOT NULL,
  piece INTEGER,
  value {double},
  rejected TEXT,
  source_line INTEGER,
  of_id VARCHAR(64),
  body TEXT,
  by_whom TEXT NOT NULL,
  CONSTRAINT pk_events PRIMARY KEY (cook_id, seq),
  CONSTRAINT fk_events_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id),
  CONSTRAINT ck_events_kind CHECK (kind IN ('reading', 'look', 'act', 'correction'))
) {without_rowid};

CREATE UNIQUE INDEX ix_events_cook_id_id ON events (cook_id, id);

CREATE INDEX ix_events_cook_id_of_id ON events (cook_id, of_id) WHERE of_id IS NOT NULL;

CREATE TABLE people (
  id VARCHAR(64) NOT NULL,
  name TEXT NOT NULL,
  role TEXT NOT NULL,
  password_hash TEXT NOT NULL,
  prefs TEXT NOT NULL,
  CONSTRAINT pk_people PRIMARY KEY (id),
  CONSTRAINT uq_people_name UNIQUE (name)
);

CREATE TABLE devices (
  id VARCHAR(64) NOT NULL,
  label TEXT NOT NULL,
  token_hash TEXT NOT NULL,
  cook_id VARCHAR(64),
  created_us BIGINT NOT NULL,
  revoked_us BIGINT,
  CONSTRAINT pk_devices PRIMARY KEY (id),
  CONSTRAINT uq_devices_token_hash UNIQUE (token_hash),
  CONSTRAINT fk_devices_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE sessions (
  id_hash VARCHAR(128) NOT NULL,
  person_id VARCHAR(64) NOT NULL,
  created_us BIGINT NOT NULL,
  last_seen_us BIGINT NOT NULL,
  expires_us BIGINT NOT NULL,
  CONSTRAINT pk_sessions PRIMARY KEY (id_hash),
  CONSTRAINT fk_sessions_person_id FOREIGN KEY(person_id) REFERENCES people (id) ON DELETE CASCADE
);

CREATE INDEX ix_sessions_person_id ON sessions (person_id);

CREATE TABLE acknowledged (
  cook_id VARCHAR(64) NOT NULL,
  alert_key VARCHAR(200) NOT NULL,
  at_us BIGINT NOT NULL,
  by_whom TEXT NOT NULL,
  CONSTRAINT pk_acknowledged PRIMARY KEY (cook_id, alert_key),
  CONSTRAINT fk_acknowledged_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE settings (
  name VARCHAR(100) NOT NULL,
  content TEXT NOT NULL,
  CONSTRAINT pk_settings PRIMARY KEY (name)
);
