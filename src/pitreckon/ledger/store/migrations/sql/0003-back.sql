-- The table that the second state had instead.
CREATE TABLE told_alerts (
  cook_id VARCHAR(64) NOT NULL,
  alert_key TEXT NOT NULL,
  CONSTRAINT pk_told_alerts PRIMARY KEY (cook_id, alert_key),
  CONSTRAINT fk_told_alerts_cook_id FOREIGN KEY(cook_id) REFERENCES cooks (id)
);
