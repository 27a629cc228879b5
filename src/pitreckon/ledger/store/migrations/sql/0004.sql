-- The tables that the fourth state adds.
CREATE TABLE house_lessons (
  cook_id VARCHAR(64) NOT NULL,
  seq BIGINT NOT NULL,
  plan_version INTEGER NOT NULL,
  made_with VARCHAR(40) NOT NULL,
  ended_us BIGINT NOT NULL,
  learned_us BIGINT NOT NULL,
  content TEXT NOT NULL,
  CONSTRAINT pk_house_lessons PRIMARY KEY (cook_id),
  CONSTRAINT fk_house_lessons_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE left_out (
  cook_id VARCHAR(64) NOT NULL,
  said_us BIGINT NOT NULL,
  said_by TEXT NOT NULL,
  CONSTRAINT pk_left_out PRIMARY KEY (cook_id),
  CONSTRAINT fk_left_out_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE came_out (
  cook_id VARCHAR(64) NOT NULL,
  said_by VARCHAR(200) NOT NULL,
  said_us BIGINT NOT NULL,
  rating INTEGER NOT NULL,
  note TEXT NOT NULL,
  CONSTRAINT pk_came_out PRIMARY KEY (cook_id, said_by),
  CONSTRAINT fk_came_out_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);

CREATE TABLE pits_anew (
  pit VARCHAR(200) NOT NULL,
  since_us BIGINT NOT NULL,
  said_us BIGINT NOT NULL,
  said_by TEXT NOT NULL,
  CONSTRAINT pk_pits_anew PRIMARY KEY (pit)
);

CREATE TABLE pits_said (
  id VARCHAR(64) NOT NULL,
  pit VARCHAR(200) NOT NULL,
  pit_kind VARCHAR(100) NOT NULL,
  what VARCHAR(40) NOT NULL,
  amount {double} NOT NULL,
  give {double} NOT NULL,
  since_us BIGINT NOT NULL,
  said_us BIGINT NOT NULL,
  said_by TEXT NOT NULL,
  CONSTRAINT pk_pits_said PRIMARY KEY (id)
);
