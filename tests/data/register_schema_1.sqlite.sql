-- A register of schema 1, made by the program before there was a version. Rows are invented.
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
INSERT INTO "changes" VALUES(2,'B',1,'{"case": "B", "day": "2026-01-05", "gauge": null, "operator": null, "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "skin_type": null, "techniques": ["blunt-cannula"], "volume_ml": null, "watched_days": 30}',3);
INSERT INTO "changes" VALUES(3,'C',1,'{"case": "C", "day": "2026-01-05", "gauge": null, "operator": null, "outcomes": {}, "session": 1, "site": "chin", "skin_type": null, "techniques": ["blunt-cannula"], "volume_ml": null, "watched_days": null}',4);
INSERT INTO "changes" VALUES(5,'A',1,'{"case": "A", "day": "2026-01-05", "gauge": null, "operator": null, "outcomes": {"bruising": 1}, "session": 1, "site": "chin", "skin_type": null, "techniques": ["blunt-cannula"], "volume_ml": null, "watched_days": 30}',2);
INSERT INTO "changes" VALUES(5,'B',1,'{"case": "B", "day": "2026-01-05", "gauge": null, "operator": null, "outcomes": {"bruising": 0, "infection": 1}, "session": 1, "site": "chin", "skin_type": null, "techniques": ["blunt-cannula"], "volume_ml": null, "watched_days": 60}',NULL);
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
	PRIMARY KEY (id)
);
INSERT INTO "imports" VALUES(1,'2026-11-02 09:00:00.000000','tests','import','audit.csv','180e2f9b66069d65653e4d79893b7b91a99a421376f6f6fd2674346bc6935c56',3,3,0,0,0,0);
INSERT INTO "imports" VALUES(2,'2026-11-03 09:00:00.000000','AQ','entry','','',1,0,1,0,0,0);
INSERT INTO "imports" VALUES(3,'2026-11-04 09:00:00.000000','AQ','entry','','',1,0,1,0,0,0);
INSERT INTO "imports" VALUES(4,'2026-11-05 09:00:00.000000','AQ','entry','','',1,1,0,0,0,0);
INSERT INTO "imports" VALUES(5,'2026-11-06 09:00:00.000000','tests','import','audit.csv','0208c278429e456f22f4676191fd3f3b7cb06c77d413daa8f7a0c7f2ff26492c',2,0,2,0,0,0);
INSERT INTO "imports" VALUES(6,'2026-11-07 09:00:00.000000','tests','import','audit.csv','ad8f314100b7d98705b12a51f4154e9b2f7e1d50629682301f040f0a49a9458d',1,1,0,0,0,1);
CREATE TABLE outcome_columns (
	id INTEGER NOT NULL, 
	outcome VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (outcome)
);
INSERT INTO "outcome_columns" VALUES(1,'bruising');
INSERT INTO "outcome_columns" VALUES(2,'infection');
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
	source_row INTEGER, 
	row_digest VARCHAR(64) NOT NULL, 
	combination_id INTEGER NOT NULL, 
	added_by INTEGER NOT NULL, o1 SMALLINT, o2 SMALLINT, 
	PRIMARY KEY (id), 
	UNIQUE (case_ref, session), 
	FOREIGN KEY(combination_id) REFERENCES combinations (id), 
	FOREIGN KEY(added_by) REFERENCES imports (id)
);
INSERT INTO "treatments" VALUES(1,'A',1,739621,'chin',NULL,30,NULL,NULL,NULL,2,'c351f4f2a2085356c02ccde1601dfdb6229f63375fee9d8a5eccd5b808ca7d35',1,1,0,NULL);
INSERT INTO "treatments" VALUES(2,'B',1,739621,'chin',NULL,30,NULL,NULL,NULL,3,'d7210b8059828ba7b06ba85130ed2503af923ab945c1fb9337c858bf22df0149',1,1,0,NULL);
INSERT INTO "treatments" VALUES(3,'C',1,739621,'chin',NULL,20,NULL,NULL,NULL,NULL,'c49cf21051cd6935b7977f57b72c276b466b908c36316a3d9162ae6a44d69d0a',1,1,2,0);
INSERT INTO "treatments" VALUES(4,'H',1,739677,'chin',NULL,NULL,NULL,NULL,NULL,NULL,'bcd0d31ff1e4e0bbfee6401420493beb70f521f22137cfe5853e5653f645b09c',1,4,NULL,NULL);
CREATE INDEX by_combination_and_day ON treatments (combination_id, day);
COMMIT;
