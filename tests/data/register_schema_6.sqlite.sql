-- A register of schema 6, made by the program before schema 7. Rows are invented. Numbers 2 and 6 were taken back.
BEGIN TRANSACTION;
CREATE TABLE changes (
	import_id INTEGER NOT NULL, 
	case_ref VARCHAR NOT NULL, 
	session INTEGER NOT NULL, 
	"before" TEXT NOT NULL, 
	source_row INTEGER, 
	row_digest VARCHAR(64), 
	PRIMARY KEY (import_id, case_ref, session), 
	FOREIGN KEY(import_id) REFERENCES imports (id)
);
INSERT INTO "changes" VALUES(2,'A',1,'{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "A", "day": "2026-01-05", "measurements": {}, "operator": null, "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}',2,NULL);
INSERT INTO "changes" VALUES(4,'H-1',1,'{"_added": {"entry": 3, "kind": "hand", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "H-1", "day": "2026-03-02", "measurements": {}, "operator": null, "outcomes": {}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}',NULL,NULL);
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
	made_by INTEGER, 
	PRIMARY KEY (id), 
	UNIQUE (kind, name)
);
INSERT INTO "field_columns" VALUES(1,'day','bruising',4);
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
	undone_number INTEGER, 
	undone_after INTEGER, 
	PRIMARY KEY (id)
);
INSERT INTO "imports" VALUES(1,'2026-11-25 09:00:00.000000','tests','import','audit.csv','7f29c331d944169918a6cbcc4ccb67a0bf5c86ef93e775bf897365ba5709e2a2',2,2,0,0,0,0,NULL,NULL,NULL,NULL);
INSERT INTO "imports" VALUES(2,'2026-11-25 09:00:00.000000','tests','import','audit.csv','e3349544056f177a611766acf160729d9363c949a2863bdd553d437d792b73b9',2,1,1,0,0,1,'2026-11-25 09:00:00.000000','tests',1,2);
INSERT INTO "imports" VALUES(3,'2026-11-25 09:00:00.000000','ML','entry','','',1,1,0,0,0,0,NULL,NULL,NULL,NULL);
INSERT INTO "imports" VALUES(4,'2026-11-25 09:00:00.000000','ML','entry','','',1,0,1,0,0,0,NULL,NULL,NULL,NULL);
INSERT INTO "imports" VALUES(5,'2026-11-25 09:00:00.000000','ML','talk-back','','',1,0,0,0,0,0,NULL,NULL,NULL,NULL);
INSERT INTO "imports" VALUES(6,'2026-11-25 09:00:00.000000','ML','talk-back','','',1,0,0,0,0,1,'2026-11-25 09:00:00.000000','ML',2,6);
CREATE TABLE outcome_columns (
	id INTEGER NOT NULL, 
	outcome VARCHAR NOT NULL, 
	made_by INTEGER, 
	PRIMARY KEY (id), 
	UNIQUE (outcome)
);
INSERT INTO "outcome_columns" VALUES(1,'bruising',1);
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
INSERT INTO "outcome_sources" VALUES(3,1,4,18);
CREATE TABLE schema_version (
	version INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	program VARCHAR NOT NULL, 
	PRIMARY KEY (version)
);
INSERT INTO "schema_version" VALUES(6,'2026-11-28 23:22:25.882316','0.1.0');
CREATE TABLE taken_back (
	import_id INTEGER NOT NULL, 
	case_ref VARCHAR NOT NULL, 
	session INTEGER NOT NULL, 
	treatment_id INTEGER NOT NULL, 
	was TEXT NOT NULL, 
	source_row INTEGER, 
	row_digest VARCHAR(64), 
	PRIMARY KEY (import_id, case_ref, session), 
	FOREIGN KEY(import_id) REFERENCES imports (id)
);
INSERT INTO "taken_back" VALUES(2,'A',1,1,'{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {"bruising": {"entry": 2, "kind": "file", "looked": null}}, "_watched_by_hand": null, "case": "A", "day": "2026-01-05", "measurements": {}, "operator": null, "outcomes": {"bruising": 1}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}',2,NULL);
INSERT INTO "taken_back" VALUES(2,'C',1,3,'{"_added": {"entry": 2, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "C", "day": "2026-01-05", "measurements": {}, "operator": null, "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}',3,NULL);
CREATE TABLE talk_backs (
	import_id INTEGER NOT NULL, 
	question VARCHAR NOT NULL, 
	case_ref VARCHAR NOT NULL, 
	day INTEGER NOT NULL, 
	clinician VARCHAR NOT NULL, 
	language VARCHAR NOT NULL, 
	module VARCHAR NOT NULL, 
	digest VARCHAR(64) NOT NULL, 
	sentence TEXT NOT NULL, 
	mark SMALLINT NOT NULL, 
	row_digest VARCHAR(64) NOT NULL, 
	PRIMARY KEY (import_id, question), 
	FOREIGN KEY(import_id) REFERENCES imports (id)
);
INSERT INTO "talk_backs" VALUES(5,'harm','R-1',739940,'Dr A','en-GB','risks/harm','dddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddd','What is said of harm',2,'c2a321666444992bd7ba376fd887f2d6b2783802c9c3d09a5b83b2189c7583b8');
INSERT INTO "talk_backs" VALUES(6,'choice','R-1',739940,'Dr A','en-GB','risks/choice','dddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddd','What is said of choice',0,'f81ce1ba4a402b72a2e7eebd0f28bb72ced46884766630a9198c701b1eda0da1');
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
	added_by INTEGER NOT NULL, o1 SMALLINT, d1 INTEGER, 
	PRIMARY KEY (id), 
	UNIQUE (case_ref, session), 
	FOREIGN KEY(combination_id) REFERENCES combinations (id), 
	FOREIGN KEY(added_by) REFERENCES imports (id)
);
INSERT INTO "treatments" VALUES(1,'A',1,739621,'chin',NULL,NULL,NULL,2,'e7988caebc293d5584b199a5312dc162dd9eee0bdbb3014eb2d7941fee7817c3',1,1,0,NULL);
INSERT INTO "treatments" VALUES(2,'B',1,739621,'chin',NULL,NULL,NULL,3,'ae51b433cf536850d46387b3bb10afbeb4bdcc68fa0cdf907d152bde74e907c0',1,1,0,NULL);
INSERT INTO "treatments" VALUES(3,'H-1',1,739677,'chin',18,NULL,18,NULL,'482f944041d09f95d53343127dac539cb99b5a5750510fe1a23e28e431cb67af',1,3,1,3);
CREATE UNIQUE INDEX undone_in_order ON imports (undone_number);
CREATE INDEX by_case ON changes (case_ref, session);
CREATE INDEX by_combination_and_day ON treatments (combination_id, day);
CREATE INDEX talk_backs_by_case ON talk_backs (case_ref, day);
CREATE TRIGGER treatments_edited AFTER UPDATE ON treatments WHEN NEW.row_digest = OLD.row_digest BEGIN UPDATE treatments SET row_digest = 'edited ' || lower(hex(randomblob(16))) WHERE id = NEW.id; END;
CREATE INDEX undated_d1 ON treatments (day) WHERE o1 >= 1 AND d1 IS NULL;
COMMIT;
