-- A register of schema 1, made by the program before there was a version. Rows are invented.
CREATE TABLE public.changes (
    import_id integer NOT NULL,
    case_ref character varying NOT NULL,
    session integer NOT NULL,
    before text NOT NULL,
    source_row integer
);
CREATE TABLE public.combinations (
    id integer NOT NULL,
    techniques character varying NOT NULL
);
CREATE SEQUENCE public.combinations_id_seq
    AS integer
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;
ALTER SEQUENCE public.combinations_id_seq OWNED BY public.combinations.id;
CREATE TABLE public.imports (
    id integer NOT NULL,
    at timestamp without time zone NOT NULL,
    by character varying NOT NULL,
    kind character varying NOT NULL,
    file_name character varying NOT NULL,
    file_digest character varying(64) NOT NULL,
    rows_read integer NOT NULL,
    added integer NOT NULL,
    updated integer NOT NULL,
    unchanged integer NOT NULL,
    set_aside integer NOT NULL,
    undone boolean NOT NULL
);
CREATE SEQUENCE public.imports_id_seq
    AS integer
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;
ALTER SEQUENCE public.imports_id_seq OWNED BY public.imports.id;
CREATE TABLE public.outcome_columns (
    id integer NOT NULL,
    outcome character varying NOT NULL
);
CREATE SEQUENCE public.outcome_columns_id_seq
    AS integer
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;
ALTER SEQUENCE public.outcome_columns_id_seq OWNED BY public.outcome_columns.id;
CREATE TABLE public.treatments (
    id integer NOT NULL,
    case_ref character varying NOT NULL,
    session integer NOT NULL,
    day integer NOT NULL,
    site character varying NOT NULL,
    skin_type character varying,
    watched_days integer,
    operator character varying,
    gauge integer,
    volume_ml double precision,
    source_row integer,
    row_digest character varying(64) NOT NULL,
    combination_id integer NOT NULL,
    added_by integer NOT NULL,
    o1 smallint,
    o2 smallint
);
CREATE SEQUENCE public.treatments_id_seq
    AS integer
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;
ALTER SEQUENCE public.treatments_id_seq OWNED BY public.treatments.id;
ALTER TABLE ONLY public.combinations ALTER COLUMN id SET DEFAULT nextval('public.combinations_id_seq'::regclass);
ALTER TABLE ONLY public.imports ALTER COLUMN id SET DEFAULT nextval('public.imports_id_seq'::regclass);
ALTER TABLE ONLY public.outcome_columns ALTER COLUMN id SET DEFAULT nextval('public.outcome_columns_id_seq'::regclass);
ALTER TABLE ONLY public.treatments ALTER COLUMN id SET DEFAULT nextval('public.treatments_id_seq'::regclass);
INSERT INTO public.changes VALUES (2, 'B', 1, '{"case": "B", "day": "2026-01-05", "gauge": null, "operator": null, "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "skin_type": null, "techniques": ["blunt-cannula"], "volume_ml": null, "watched_days": 30}', 3);
INSERT INTO public.changes VALUES (3, 'C', 1, '{"case": "C", "day": "2026-01-05", "gauge": null, "operator": null, "outcomes": {}, "session": 1, "site": "chin", "skin_type": null, "techniques": ["blunt-cannula"], "volume_ml": null, "watched_days": null}', 4);
INSERT INTO public.changes VALUES (5, 'A', 1, '{"case": "A", "day": "2026-01-05", "gauge": null, "operator": null, "outcomes": {"bruising": 1}, "session": 1, "site": "chin", "skin_type": null, "techniques": ["blunt-cannula"], "volume_ml": null, "watched_days": 30}', 2);
INSERT INTO public.changes VALUES (5, 'B', 1, '{"case": "B", "day": "2026-01-05", "gauge": null, "operator": null, "outcomes": {"bruising": 0, "infection": 1}, "session": 1, "site": "chin", "skin_type": null, "techniques": ["blunt-cannula"], "volume_ml": null, "watched_days": 60}', NULL);
INSERT INTO public.combinations VALUES (1, 'blunt-cannula');
INSERT INTO public.imports VALUES (1, '2026-11-02 09:00:00', 'tests', 'import', 'audit.csv', '180e2f9b66069d65653e4d79893b7b91a99a421376f6f6fd2674346bc6935c56', 3, 3, 0, 0, 0, false);
INSERT INTO public.imports VALUES (2, '2026-11-03 09:00:00', 'AQ', 'entry', '', '', 1, 0, 1, 0, 0, false);
INSERT INTO public.imports VALUES (3, '2026-11-04 09:00:00', 'AQ', 'entry', '', '', 1, 0, 1, 0, 0, false);
INSERT INTO public.imports VALUES (4, '2026-11-05 09:00:00', 'AQ', 'entry', '', '', 1, 1, 0, 0, 0, false);
INSERT INTO public.imports VALUES (5, '2026-11-06 09:00:00', 'tests', 'import', 'audit.csv', '0208c278429e456f22f4676191fd3f3b7cb06c77d413daa8f7a0c7f2ff26492c', 2, 0, 2, 0, 0, false);
INSERT INTO public.imports VALUES (6, '2026-11-07 09:00:00', 'tests', 'import', 'audit.csv', 'ad8f314100b7d98705b12a51f4154e9b2f7e1d50629682301f040f0a49a9458d', 1, 1, 0, 0, 0, true);
INSERT INTO public.outcome_columns VALUES (1, 'bruising');
INSERT INTO public.outcome_columns VALUES (2, 'infection');
INSERT INTO public.treatments VALUES (3, 'C', 1, 739621, 'chin', NULL, 20, NULL, NULL, NULL, NULL, 'c49cf21051cd6935b7977f57b72c276b466b908c36316a3d9162ae6a44d69d0a', 1, 1, 2, 0);
INSERT INTO public.treatments VALUES (4, 'H', 1, 739677, 'chin', NULL, NULL, NULL, NULL, NULL, NULL, 'bcd0d31ff1e4e0bbfee6401420493beb70f521f22137cfe5853e5653f645b09c', 1, 4, NULL, NULL);
INSERT INTO public.treatments VALUES (1, 'A', 1, 739621, 'chin', NULL, 30, NULL, NULL, NULL, 2, 'c351f4f2a2085356c02ccde1601dfdb6229f63375fee9d8a5eccd5b808ca7d35', 1, 1, 0, NULL);
INSERT INTO public.treatments VALUES (2, 'B', 1, 739621, 'chin', NULL, 30, NULL, NULL, NULL, 3, 'd7210b8059828ba7b06ba85130ed2503af923ab945c1fb9337c858bf22df0149', 1, 1, 0, NULL);
SELECT pg_catalog.setval('public.combinations_id_seq', 1, true);
SELECT pg_catalog.setval('public.imports_id_seq', 6, true);
SELECT pg_catalog.setval('public.outcome_columns_id_seq', 2, true);
SELECT pg_catalog.setval('public.treatments_id_seq', 5, true);
ALTER TABLE ONLY public.changes
    ADD CONSTRAINT changes_pkey PRIMARY KEY (import_id, case_ref, session);
ALTER TABLE ONLY public.combinations
    ADD CONSTRAINT combinations_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.combinations
    ADD CONSTRAINT combinations_techniques_key UNIQUE (techniques);
ALTER TABLE ONLY public.imports
    ADD CONSTRAINT imports_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.outcome_columns
    ADD CONSTRAINT outcome_columns_outcome_key UNIQUE (outcome);
ALTER TABLE ONLY public.outcome_columns
    ADD CONSTRAINT outcome_columns_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_case_ref_session_key UNIQUE (case_ref, session);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_pkey PRIMARY KEY (id);
CREATE INDEX by_combination_and_day ON public.treatments USING btree (combination_id, day);
ALTER TABLE ONLY public.changes
    ADD CONSTRAINT changes_import_id_fkey FOREIGN KEY (import_id) REFERENCES public.imports(id);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_added_by_fkey FOREIGN KEY (added_by) REFERENCES public.imports(id);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_combination_id_fkey FOREIGN KEY (combination_id) REFERENCES public.combinations(id);
