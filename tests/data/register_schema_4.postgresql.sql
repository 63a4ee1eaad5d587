-- A register of schema 4, made by the program before schema 5. Rows are invented. Number 2 was taken back.
CREATE FUNCTION public.treatment_edited() RETURNS trigger
    LANGUAGE plpgsql
    AS $$BEGIN IF NEW.row_digest = OLD.row_digest THEN NEW.row_digest := 'edited ' || md5(random()::text || clock_timestamp()::text); END IF; RETURN NEW; END$$;
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
CREATE TABLE public.field_columns (
    id integer NOT NULL,
    kind character varying NOT NULL,
    name character varying NOT NULL
);
CREATE SEQUENCE public.field_columns_id_seq
    AS integer
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;
ALTER SEQUENCE public.field_columns_id_seq OWNED BY public.field_columns.id;
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
    undone boolean NOT NULL,
    undone_at timestamp without time zone,
    undone_by character varying
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
CREATE TABLE public.outcome_sources (
    treatment_id integer NOT NULL,
    outcome_id integer NOT NULL,
    import_id integer NOT NULL,
    looked_days integer
);
CREATE TABLE public.schema_version (
    version integer NOT NULL,
    at timestamp without time zone NOT NULL,
    program character varying NOT NULL
);
CREATE SEQUENCE public.schema_version_version_seq
    AS integer
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;
ALTER SEQUENCE public.schema_version_version_seq OWNED BY public.schema_version.version;
CREATE TABLE public.treatments (
    id integer NOT NULL,
    case_ref character varying NOT NULL,
    session integer NOT NULL,
    day integer NOT NULL,
    site character varying NOT NULL,
    watched_days integer,
    operator character varying,
    watched_by_hand integer,
    source_row integer,
    row_digest character varying(64) NOT NULL,
    combination_id integer NOT NULL,
    added_by integer NOT NULL,
    o1 smallint,
    s1 character varying,
    d2 integer,
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
ALTER TABLE ONLY public.field_columns ALTER COLUMN id SET DEFAULT nextval('public.field_columns_id_seq'::regclass);
ALTER TABLE ONLY public.imports ALTER COLUMN id SET DEFAULT nextval('public.imports_id_seq'::regclass);
ALTER TABLE ONLY public.outcome_columns ALTER COLUMN id SET DEFAULT nextval('public.outcome_columns_id_seq'::regclass);
ALTER TABLE ONLY public.schema_version ALTER COLUMN version SET DEFAULT nextval('public.schema_version_version_seq'::regclass);
ALTER TABLE ONLY public.treatments ALTER COLUMN id SET DEFAULT nextval('public.treatments_id_seq'::regclass);
INSERT INTO public.changes VALUES (2, 'A', 1, '{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "A", "day": "2026-01-05", "measurements": {}, "noticed": {"bruising": 3}, "operator": null, "outcomes": {"bruising": 1}, "session": 1, "site": "chin", "strata": {"skin_type": "III"}, "techniques": ["blunt-cannula"], "watched_days": 31}', 2);
INSERT INTO public.changes VALUES (3, 'B', 1, '{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "B", "day": "2026-01-06", "measurements": {}, "operator": null, "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "strata": {"skin_type": "II"}, "techniques": ["blunt-cannula"], "watched_days": 30}', 3);
INSERT INTO public.changes VALUES (5, 'H-1', 1, '{"_added": {"entry": 4, "kind": "hand", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "H-1", "day": "2026-03-02", "measurements": {}, "operator": null, "outcomes": {}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}', NULL);
INSERT INTO public.combinations VALUES (1, 'blunt-cannula');
INSERT INTO public.field_columns VALUES (1, 'stratum', 'skin_type');
INSERT INTO public.field_columns VALUES (2, 'day', 'bruising');
INSERT INTO public.imports VALUES (1, '2026-11-25 09:00:00', 'tests', 'import', 'audit.csv', '6cc022fd4b4a4e91aedc1754fe31fcc66acf2d85aefbb88f88054d2f01b53a03', 2, 2, 0, 0, 0, false, NULL, NULL);
INSERT INTO public.imports VALUES (2, '2026-11-25 09:00:00', 'tests', 'import', 'audit.csv', '71d14a5b4e7eb033dce3c75dc200cf75157ef41ef599e708ca91306200a8f74a', 2, 1, 1, 0, 0, true, '2026-11-25 09:00:00', 'Sam Invented');
INSERT INTO public.imports VALUES (3, '2026-11-25 09:00:00', 'Sam Invented', 'entry', '', '', 1, 0, 1, 0, 0, false, NULL, NULL);
INSERT INTO public.imports VALUES (4, '2026-11-25 09:00:00', 'Sam Invented', 'entry', '', '', 1, 1, 0, 0, 0, false, NULL, NULL);
INSERT INTO public.imports VALUES (5, '2026-11-25 09:00:00', 'Sam Invented', 'diary', '', '', 1, 0, 1, 0, 0, false, NULL, NULL);
INSERT INTO public.outcome_columns VALUES (1, 'bruising');
INSERT INTO public.outcome_columns VALUES (2, 'infection');
INSERT INTO public.outcome_sources VALUES (2, 2, 3, 59);
INSERT INTO public.outcome_sources VALUES (4, 1, 5, 35);
INSERT INTO public.schema_version VALUES (4, '2026-11-28 15:30:26.691759', '0.1.0');
INSERT INTO public.treatments VALUES (1, 'A', 1, 739621, 'chin', 31, NULL, NULL, 2, '82053c800099d731ccc1a6cb1eeb47661bac8cbedb18b7b05e494c797107f15f', 1, 1, 1, 'III', 3, NULL);
INSERT INTO public.treatments VALUES (2, 'B', 1, 739622, 'chin', 59, NULL, 59, NULL, '35d56d38d36c7ca956a4f6c22510dc01a190ad4b445f4eda9ed44b76a3d52f6d', 1, 1, 0, 'II', NULL, 1);
INSERT INTO public.treatments VALUES (4, 'H-1', 1, 739677, 'chin', 35, NULL, 35, NULL, 'ae52bdb76b7657200cadc21c50b5dca853dac8ddfcec658f23144acc984c379b', 1, 4, 1, NULL, NULL, NULL);
SELECT pg_catalog.setval('public.combinations_id_seq', 1, true);
SELECT pg_catalog.setval('public.field_columns_id_seq', 2, true);
SELECT pg_catalog.setval('public.imports_id_seq', 5, true);
SELECT pg_catalog.setval('public.outcome_columns_id_seq', 2, true);
SELECT pg_catalog.setval('public.schema_version_version_seq', 1, false);
SELECT pg_catalog.setval('public.treatments_id_seq', 4, true);
ALTER TABLE ONLY public.changes
    ADD CONSTRAINT changes_pkey PRIMARY KEY (import_id, case_ref, session);
ALTER TABLE ONLY public.combinations
    ADD CONSTRAINT combinations_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.combinations
    ADD CONSTRAINT combinations_techniques_key UNIQUE (techniques);
ALTER TABLE ONLY public.field_columns
    ADD CONSTRAINT field_columns_kind_name_key UNIQUE (kind, name);
ALTER TABLE ONLY public.field_columns
    ADD CONSTRAINT field_columns_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.imports
    ADD CONSTRAINT imports_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.outcome_columns
    ADD CONSTRAINT outcome_columns_outcome_key UNIQUE (outcome);
ALTER TABLE ONLY public.outcome_columns
    ADD CONSTRAINT outcome_columns_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.outcome_sources
    ADD CONSTRAINT outcome_sources_pkey PRIMARY KEY (treatment_id, outcome_id);
ALTER TABLE ONLY public.schema_version
    ADD CONSTRAINT schema_version_pkey PRIMARY KEY (version);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_case_ref_session_key UNIQUE (case_ref, session);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_pkey PRIMARY KEY (id);
CREATE INDEX by_case ON public.changes USING btree (case_ref, session);
CREATE INDEX by_combination_and_day ON public.treatments USING btree (combination_id, day);
CREATE INDEX undated_d2 ON public.treatments USING btree (day) WHERE ((o1 >= 1) AND (d2 IS NULL));
CREATE TRIGGER treatments_edited BEFORE UPDATE ON public.treatments FOR EACH ROW EXECUTE FUNCTION public.treatment_edited();
ALTER TABLE ONLY public.changes
    ADD CONSTRAINT changes_import_id_fkey FOREIGN KEY (import_id) REFERENCES public.imports(id);
ALTER TABLE ONLY public.outcome_sources
    ADD CONSTRAINT outcome_sources_import_id_fkey FOREIGN KEY (import_id) REFERENCES public.imports(id);
ALTER TABLE ONLY public.outcome_sources
    ADD CONSTRAINT outcome_sources_outcome_id_fkey FOREIGN KEY (outcome_id) REFERENCES public.outcome_columns(id);
ALTER TABLE ONLY public.outcome_sources
    ADD CONSTRAINT outcome_sources_treatment_id_fkey FOREIGN KEY (treatment_id) REFERENCES public.treatments(id);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_added_by_fkey FOREIGN KEY (added_by) REFERENCES public.imports(id);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_combination_id_fkey FOREIGN KEY (combination_id) REFERENCES public.combinations(id);
