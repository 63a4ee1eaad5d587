-- A register of schema 2, made by the program before schema 3. Rows are invented. Case D was edited by hand in the database.
BEGIN TRANSACTION;
CREATE TABLE changes (
	import_id INTEGER NOT NULL, 
	case_ref VARCHAR NOT NULL, 
	session INTEGER NOT NULL, 
	"before" TEXT NOT NULL, 
	source_row INTEGER, 
	PRIMARY KEY (import_id, case_ref, session), 
	FOREIGN KEY(import_id) REFERENCES imports (id)
);
INSERT INTO "changes" VALUES(2,'B',1,'{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "B", "day": "2026-01-05", "gauge": null, "operator": null, "outcomes": {"bruising": 1}, "session": 1, "site": "chin", "skin_type": null, "techniques": ["blunt-cannula"], "volume_ml": null, "watched_days": null}',3);
INSERT INTO "changes" VALUES(3,'C',1,'{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "C", "day": "2026-01-06", "gauge": null, "operator": "ML", "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "skin_type": "V", "techniques": ["blunt-cannula"], "volume_ml": 1.0, "watched_days": 58}',4);
CREATE TABLE combinations (
	id INTEGER NOT NULL, 
	techniques VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (techniques)
);
INSERT INTO "combinations" VALUES(1,'blunt-cannula');
CREATE TABLE imports (
	id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	"by" VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	file_name VARCHAR NOT NULL, 
	file_digest VARCHAR(64) NOT NULL, 
	rows_read INTEGER NOT NULL, 
	added INTEGER NOT NULL, 
	updated INTEGER NOT NULL, 
	unchanged INTEGER NOT NULL, 
	set_aside INTEGER NOT NULL, 
	undone BOOLEAN NOT NULL, 
	undone_at DATETIME, 
	undone_by VARCHAR, 
	PRIMARY KEY (id)
);
INSERT INTO "imports" VALUES(1,'2026-11-02 09:00:00.000000','tests','import','audit.csv','ced4501c7e07e5ed18d6205fd5fa693389ba6792c971a9122091e7301906bdcf',3,3,0,0,0,0,NULL,NULL);
INSERT INTO "imports" VALUES(2,'2026-11-03 09:00:00.000000','AQ','entry','','',1,0,1,0,0,0,NULL,NULL);
INSERT INTO "imports" VALUES(3,'2026-11-04 09:00:00.000000','tests','import','audit.csv','bd658ff5f5254f499e41a0684120256888808bae6e5a07eeeb11a31a88109392',3,0,1,2,0,0,NULL,NULL);
INSERT INTO "imports" VALUES(4,'2026-11-05 09:00:00.000000','tests','import','audit.csv','ccae8792ba30ad08911279562058ca6d6c1327b4634082309a4982dd5616a799',1,1,0,0,0,0,NULL,NULL);
CREATE TABLE outcome_columns (
	id INTEGER NOT NULL, 
	outcome VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (outcome)
);
INSERT INTO "outcome_columns" VALUES(1,'bruising');
INSERT INTO "outcome_columns" VALUES(2,'infection');
CREATE TABLE outcome_sources (
	treatment_id INTEGER NOT NULL, 
	outcome_id INTEGER NOT NULL, 
	import_id INTEGER NOT NULL, 
	looked_days INTEGER, 
	PRIMARY KEY (treatment_id, outcome_id), 
	FOREIGN KEY(treatment_id) REFERENCES treatments (id), 
	FOREIGN KEY(outcome_id) REFERENCES outcome_columns (id), 
	FOREIGN KEY(import_id) REFERENCES imports (id)
);
INSERT INTO "outcome_sources" VALUES(2,2,2,59);
INSERT INTO "outcome_sources" VALUES(3,1,3,NULL);
CREATE TABLE schema_version (
	version INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	program VARCHAR NOT NULL, 
	PRIMARY KEY (version)
);
INSERT INTO "schema_version" VALUES(2,'2026-11-28 06:41:39.521058','0.1.0');
CREATE TABLE treatments (
	id INTEGER NOT NULL, 
	case_ref VARCHAR NOT NULL, 
	session INTEGER NOT NULL, 
	day INTEGER NOT NULL, 
	site VARCHAR NOT NULL, 
	skin_type VARCHAR, 
	watched_days INTEGER, 
	operator VARCHAR, 
	gauge INTEGER, 
	volume_ml FLOAT, 
	watched_by_hand INTEGER, 
	source_row INTEGER, 
	row_digest VARCHAR(64) NOT NULL, 
	combination_id INTEGER NOT NULL, 
	added_by INTEGER NOT NULL, o1 SMALLINT, o2 SMALLINT, 
	PRIMARY KEY (id), 
	UNIQUE (case_ref, session), 
	FOREIGN KEY(combination_id) REFERENCES combinations (id), 
	FOREIGN KEY(added_by) REFERENCES imports (id)
);
INSERT INTO "treatments" VALUES(1,'A',1,739621,'chin','III',31,'AQ',22,0.01,NULL,2,'4b1abbd0cd5e80dfcfe2d1e972211b13402d5fb3ec129fff2aafe257fa3b7439',1,1,0,NULL);
INSERT INTO "treatments" VALUES(2,'B',1,739621,'chin',NULL,59,NULL,NULL,NULL,59,NULL,'dcf3df3c9f1c2c511962ae13a3dde0c7ff54bac8b7ca43c65328b9c1fb91add2',1,1,1,1);
INSERT INTO "treatments" VALUES(3,'C',1,739622,'chin','IV',58,'ML',NULL,1.0,NULL,4,'13291b0f1d03dcf79488f0a8f3748d35b33eff4884f2024f206a1bf43bb379d1',1,1,1,NULL);
INSERT INTO "treatments" VALUES(4,'D',1,739623,'cheek','II',31,'AQ',20,NULL,NULL,2,'edited fe8720fafcb923b9f7c80a2fe54fc43a',1,4,0,NULL);
CREATE INDEX by_case ON changes (case_ref, session);
CREATE INDEX by_combination_and_day ON treatments (combination_id, day);
CREATE TRIGGER treatments_edited AFTER UPDATE ON treatments WHEN NEW.row_digest = OLD.row_digest BEGIN UPDATE treatments SET row_digest = 'edited ' || lower(hex(randomblob(16))) WHERE id = NEW.id; END;
COMMIT;
