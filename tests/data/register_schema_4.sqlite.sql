-- A register of schema 4, made by the program before schema 5. Rows are invented. Number 2 was taken back.
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
INSERT INTO "changes" VALUES(2,'A',1,'{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "A", "day": "2026-01-05", "measurements": {}, "noticed": {"bruising": 3}, "operator": null, "outcomes": {"bruising": 1}, "session": 1, "site": "chin", "strata": {"skin_type": "III"}, "techniques": ["blunt-cannula"], "watched_days": 31}',2);
INSERT INTO "changes" VALUES(3,'B',1,'{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "B", "day": "2026-01-06", "measurements": {}, "operator": null, "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "strata": {"skin_type": "II"}, "techniques": ["blunt-cannula"], "watched_days": 30}',3);
INSERT INTO "changes" VALUES(5,'H-1',1,'{"_added": {"entry": 4, "kind": "hand", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "H-1", "day": "2026-03-02", "measurements": {}, "operator": null, "outcomes": {}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}',NULL);
CREATE TABLE combinations (
	id INTEGER NOT NULL, 
	techniques VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (techniques)
);
INSERT INTO "combinations" VALUES(1,'blunt-cannula');
CREATE TABLE field_columns (
	id INTEGER NOT NULL, 
	kind VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (kind, name)
);
INSERT INTO "field_columns" VALUES(1,'stratum','skin_type');
INSERT INTO "field_columns" VALUES(2,'day','bruising');
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
INSERT INTO "imports" VALUES(1,'2026-11-25 09:00:00.000000','tests','import','audit.csv','6cc022fd4b4a4e91aedc1754fe31fcc66acf2d85aefbb88f88054d2f01b53a03',2,2,0,0,0,0,NULL,NULL);
INSERT INTO "imports" VALUES(2,'2026-11-25 09:00:00.000000','tests','import','audit.csv','71d14a5b4e7eb033dce3c75dc200cf75157ef41ef599e708ca91306200a8f74a',2,1,1,0,0,1,'2026-11-25 09:00:00.000000','Sam Invented');
INSERT INTO "imports" VALUES(3,'2026-11-25 09:00:00.000000','Sam Invented','entry','','',1,0,1,0,0,0,NULL,NULL);
INSERT INTO "imports" VALUES(4,'2026-11-25 09:00:00.000000','Sam Invented','entry','','',1,1,0,0,0,0,NULL,NULL);
INSERT INTO "imports" VALUES(5,'2026-11-25 09:00:00.000000','Sam Invented','diary','','',1,0,1,0,0,0,NULL,NULL);
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
INSERT INTO "outcome_sources" VALUES(2,2,3,59);
INSERT INTO "outcome_sources" VALUES(3,1,5,35);
CREATE TABLE schema_version (
	version INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	program VARCHAR NOT NULL, 
	PRIMARY KEY (version)
);
INSERT INTO "schema_version" VALUES(4,'2026-11-28 15:30:22.838016','0.1.0');
CREATE TABLE treatments (
	id INTEGER NOT NULL, 
	case_ref VARCHAR NOT NULL, 
	session INTEGER NOT NULL, 
	day INTEGER NOT NULL, 
	site VARCHAR NOT NULL, 
	watched_days INTEGER, 
	operator VARCHAR, 
	watched_by_hand INTEGER, 
	source_row INTEGER, 
	row_digest VARCHAR(64) NOT NULL, 
	combination_id INTEGER NOT NULL, 
	added_by INTEGER NOT NULL, o1 SMALLINT, s1 VARCHAR, d2 INTEGER, o2 SMALLINT, 
	PRIMARY KEY (id), 
	UNIQUE (case_ref, session), 
	FOREIGN KEY(combination_id) REFERENCES combinations (id), 
	FOREIGN KEY(added_by) REFERENCES imports (id)
);
INSERT INTO "treatments" VALUES(1,'A',1,739621,'chin',31,NULL,NULL,2,'82053c800099d731ccc1a6cb1eeb47661bac8cbedb18b7b05e494c797107f15f',1,1,1,'III',3,NULL);
INSERT INTO "treatments" VALUES(2,'B',1,739622,'chin',59,NULL,59,NULL,'35d56d38d36c7ca956a4f6c22510dc01a190ad4b445f4eda9ed44b76a3d52f6d',1,1,0,'II',NULL,1);
INSERT INTO "treatments" VALUES(3,'H-1',1,739677,'chin',35,NULL,35,NULL,'ae52bdb76b7657200cadc21c50b5dca853dac8ddfcec658f23144acc984c379b',1,4,1,NULL,NULL,NULL);
CREATE INDEX by_case ON changes (case_ref, session);
CREATE INDEX by_combination_and_day ON treatments (combination_id, day);
CREATE TRIGGER treatments_edited AFTER UPDATE ON treatments WHEN NEW.row_digest = OLD.row_digest BEGIN UPDATE treatments SET row_digest = 'edited ' || lower(hex(randomblob(16))) WHERE id = NEW.id; END;
CREATE INDEX undated_d2 ON treatments (day) WHERE o1 >= 1 AND d2 IS NULL;
COMMIT;
