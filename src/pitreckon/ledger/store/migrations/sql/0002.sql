-- The tables that the second state adds.
CREATE TABLE plan_versions (
  cook_id VARCHAR(64) NOT NULL,
  plan_version INTEGER NOT NULL,
  plan_toml TEXT NOT NULL,
  replaced_us BIGINT NOT NULL,
  replaced_by TEXT NOT NULL,
  CONSTRAINT pk_plan_versions PRIMARY KEY (cook_id, plan_version),
  CONSTRAINT fk_plan_versions_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE wishes (
  cook_id VARCHAR(64) NOT NULL,
  wish_toml TEXT NOT NULL,
  CONSTRAINT pk_wishes PRIMARY KEY (cook_id),
  CONSTRAINT fk_wishes_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE drafts (
  person_id VARCHAR(64) NOT NULL,
  kind VARCHAR(40) NOT NULL,
  content TEXT NOT NULL,
  CONSTRAINT pk_drafts PRIMARY KEY (person_id, kind),
  CONSTRAINT fk_drafts_person_id FOREIGN KEY(person_id) REFERENCES people (id) ON DELETE CASCADE
);

CREATE TABLE pairing_links (
  id_hash VARCHAR(128) NOT NULL,
  role TEXT NOT NULL,
  expires_us BIGINT NOT NULL,
  CONSTRAINT pk_pairing_links PRIMARY KEY (id_hash)
);

CREATE TABLE told_alerts (
  cook_id VARCHAR(64) NOT NULL,
  alert_key TEXT NOT NULL,
  CONSTRAINT pk_told_alerts PRIMARY KEY (cook_id, alert_key),
  CONSTRAINT fk_told_alerts_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE mixes (
  id VARCHAR(64) NOT NULL,
  name TEXT NOT NULL,
  mix_toml TEXT NOT NULL,
  CONSTRAINT pk_mixes PRIMARY KEY (id)
);

CREATE TABLE mix_parts (
  mix_id VARCHAR(64) NOT NULL,
  place INTEGER NOT NULL,
  part_name TEXT NOT NULL,
  CONSTRAINT pk_mix_parts PRIMARY KEY (mix_id, place),
  CONSTRAINT fk_mix_parts_mix_id FOREIGN KEY(mix_id) REFERENCES mixes (id) ON DELETE CASCADE
);
