-- A register of schema 3, made by the program before schema 4. Rows are invented.
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
INSERT INTO "changes" VALUES(2,'A',1,'{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "A", "day": "2026-01-05", "measurements": {"gauge": 22.0}, "operator": "AQ", "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "strata": {"skin_type": "III"}, "techniques": ["blunt-cannula"], "watched_days": 31}',2);
INSERT INTO "changes" VALUES(4,'H-1',1,'{"_added": {"entry": 3, "kind": "hand", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "H-1", "day": "2026-03-02", "measurements": {}, "operator": null, "outcomes": {}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}',NULL);
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
INSERT INTO "field_columns" VALUES(2,'measurement','gauge');
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
INSERT INTO "imports" VALUES(1,'2026-11-25 09:00:00.000000','tests','import','audit.csv','a7c344ba73831ee7f7161d3134f9357069b655db65a6bc4068e158352c9efeea',2,2,0,0,0,0,NULL,NULL);
INSERT INTO "imports" VALUES(2,'2026-11-25 09:00:00.000000','tests','import','audit.csv','b07af1ad8dc4827cdce465acbaade8f9fc9956760c8049468f862f24edc2e76b',2,0,1,1,0,0,NULL,NULL);
INSERT INTO "imports" VALUES(3,'2026-11-25 09:00:00.000000','Sam Invented','entry','','',1,1,0,0,0,0,NULL,NULL);
INSERT INTO "imports" VALUES(4,'2026-11-25 09:00:00.000000','Sam Invented','entry','','',1,0,1,0,0,0,NULL,NULL);
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
INSERT INTO "outcome_sources" VALUES(1,1,2,NULL);
INSERT INTO "outcome_sources" VALUES(3,1,4,18);
CREATE TABLE schema_version (
	version INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	program VARCHAR NOT NULL, 
	PRIMARY KEY (version)
);
INSERT INTO "schema_version" VALUES(3,'2026-11-28 11:39:10.467042','0.1.0');
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
	added_by INTEGER NOT NULL, o1 SMALLINT, o2 SMALLINT, s1 VARCHAR, m2 FLOAT, 
	PRIMARY KEY (id), 
	UNIQUE (case_ref, session), 
	FOREIGN KEY(combination_id) REFERENCES combinations (id), 
	FOREIGN KEY(added_by) REFERENCES imports (id)
);
INSERT INTO "treatments" VALUES(1,'A',1,739621,'chin',31,'AQ',NULL,2,'2531027e28157998b7d71de18642e3d41961785127af37105c6ef2f1d31d5bba',1,1,1,NULL,'III',22.0);
INSERT INTO "treatments" VALUES(2,'B',1,739622,'chin',58,'ML',NULL,3,'8947a176c9a24456ec418b630f7194bb6878204c947524e1a98a7c98c6c8e7ad',1,1,1,0,'IV',NULL);
INSERT INTO "treatments" VALUES(3,'H-1',1,739677,'chin',18,NULL,18,NULL,'224aa241918a4a139d54224d0261a306ea748ab9d578d11f0d1fff3921102cba',1,3,1,NULL,NULL,NULL);
CREATE INDEX by_case ON changes (case_ref, session);
CREATE INDEX by_combination_and_day ON treatments (combination_id, day);
CREATE TRIGGER treatments_edited AFTER UPDATE ON treatments WHEN NEW.row_digest = OLD.row_digest BEGIN UPDATE treatments SET row_digest = 'edited ' || lower(hex(randomblob(16))) WHERE id = NEW.id; END;
COMMIT;
