-- A register of schema 6, made by the program before schema 7. Rows are invented. Numbers 2 and 6 were taken back.
CREATE FUNCTION public.treatment_edited() RETURNS trigger
    LANGUAGE plpgsql
    AS $$BEGIN IF NEW.row_digest = OLD.row_digest THEN NEW.row_digest := 'edited ' || md5(random()::text || clock_timestamp()::text); END IF; RETURN NEW; END$$;
CREATE TABLE public.changes (
    import_id integer NOT NULL,
    case_ref character varying NOT NULL,
    session integer NOT NULL,
    before text NOT NULL,
    source_row integer,
    row_digest character varying(64)
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
    name character varying NOT NULL,
    made_by integer
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
    undone_by character varying,
    undone_number integer,
    undone_after integer
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
    outcome character varying NOT NULL,
    made_by integer
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
CREATE TABLE public.taken_back (
    import_id integer NOT NULL,
    case_ref character varying NOT NULL,
    session integer NOT NULL,
    treatment_id integer NOT NULL,
    was text NOT NULL,
    source_row integer,
    row_digest character varying(64)
);
CREATE TABLE public.talk_backs (
    import_id integer NOT NULL,
    question character varying NOT NULL,
    case_ref character varying NOT NULL,
    day integer NOT NULL,
    clinician character varying NOT NULL,
    language character varying NOT NULL,
    module character varying NOT NULL,
    digest character varying(64) NOT NULL,
    sentence text NOT NULL,
    mark smallint NOT NULL,
    row_digest character varying(64) NOT NULL
);
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
    d1 integer
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
INSERT INTO public.changes VALUES (2, 'A', 1, '{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "A", "day": "2026-01-05", "measurements": {}, "operator": null, "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}', 2, NULL);
INSERT INTO public.changes VALUES (4, 'H-1', 1, '{"_added": {"entry": 3, "kind": "hand", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "H-1", "day": "2026-03-02", "measurements": {}, "operator": null, "outcomes": {}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}', NULL, NULL);
INSERT INTO public.combinations VALUES (1, 'blunt-cannula');
INSERT INTO public.field_columns VALUES (1, 'day', 'bruising', 4);
INSERT INTO public.imports VALUES (1, '2026-11-25 09:00:00', 'tests', 'import', 'audit.csv', '7f29c331d944169918a6cbcc4ccb67a0bf5c86ef93e775bf897365ba5709e2a2', 2, 2, 0, 0, 0, false, NULL, NULL, NULL, NULL);
INSERT INTO public.imports VALUES (2, '2026-11-25 09:00:00', 'tests', 'import', 'audit.csv', 'e3349544056f177a611766acf160729d9363c949a2863bdd553d437d792b73b9', 2, 1, 1, 0, 0, true, '2026-11-25 09:00:00', 'tests', 1, 2);
INSERT INTO public.imports VALUES (3, '2026-11-25 09:00:00', 'ML', 'entry', '', '', 1, 1, 0, 0, 0, false, NULL, NULL, NULL, NULL);
INSERT INTO public.imports VALUES (4, '2026-11-25 09:00:00', 'ML', 'entry', '', '', 1, 0, 1, 0, 0, false, NULL, NULL, NULL, NULL);
INSERT INTO public.imports VALUES (5, '2026-11-25 09:00:00', 'ML', 'talk-back', '', '', 1, 0, 0, 0, 0, false, NULL, NULL, NULL, NULL);
INSERT INTO public.imports VALUES (6, '2026-11-25 09:00:00', 'ML', 'talk-back', '', '', 1, 0, 0, 0, 0, true, '2026-11-25 09:00:00', 'ML', 2, 6);
INSERT INTO public.outcome_columns VALUES (1, 'bruising', 1);
INSERT INTO public.outcome_sources VALUES (4, 1, 4, 18);
INSERT INTO public.schema_version VALUES (6, '2026-11-28 23:22:30.374671', '0.1.0');
INSERT INTO public.taken_back VALUES (2, 'A', 1, 1, '{"_added": {"entry": 1, "kind": "file", "looked": null}, "_sources": {"bruising": {"entry": 2, "kind": "file", "looked": null}}, "_watched_by_hand": null, "case": "A", "day": "2026-01-05", "measurements": {}, "operator": null, "outcomes": {"bruising": 1}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}', 2, NULL);
INSERT INTO public.taken_back VALUES (2, 'C', 1, 3, '{"_added": {"entry": 2, "kind": "file", "looked": null}, "_sources": {}, "_watched_by_hand": null, "case": "C", "day": "2026-01-05", "measurements": {}, "operator": null, "outcomes": {"bruising": 0}, "session": 1, "site": "chin", "strata": {}, "techniques": ["blunt-cannula"], "watched_days": null}', 3, NULL);
INSERT INTO public.talk_backs VALUES (5, 'harm', 'R-1', 739940, 'Dr A', 'en-GB', 'risks/harm', 'dddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddd', 'What is said of harm', 2, 'c2a321666444992bd7ba376fd887f2d6b2783802c9c3d09a5b83b2189c7583b8');
INSERT INTO public.talk_backs VALUES (6, 'choice', 'R-1', 739940, 'Dr A', 'en-GB', 'risks/choice', 'dddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddd', 'What is said of choice', 0, 'f81ce1ba4a402b72a2e7eebd0f28bb72ced46884766630a9198c701b1eda0da1');
INSERT INTO public.treatments VALUES (2, 'B', 1, 739621, 'chin', NULL, NULL, NULL, 3, 'ae51b433cf536850d46387b3bb10afbeb4bdcc68fa0cdf907d152bde74e907c0', 1, 1, 0, NULL);
INSERT INTO public.treatments VALUES (1, 'A', 1, 739621, 'chin', NULL, NULL, NULL, 2, 'e7988caebc293d5584b199a5312dc162dd9eee0bdbb3014eb2d7941fee7817c3', 1, 1, 0, NULL);
INSERT INTO public.treatments VALUES (4, 'H-1', 1, 739677, 'chin', 18, NULL, 18, NULL, '482f944041d09f95d53343127dac539cb99b5a5750510fe1a23e28e431cb67af', 1, 3, 1, 3);
SELECT pg_catalog.setval('public.combinations_id_seq', 1, true);
SELECT pg_catalog.setval('public.field_columns_id_seq', 1, true);
SELECT pg_catalog.setval('public.imports_id_seq', 6, true);
SELECT pg_catalog.setval('public.outcome_columns_id_seq', 1, true);
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
ALTER TABLE ONLY public.taken_back
    ADD CONSTRAINT taken_back_pkey PRIMARY KEY (import_id, case_ref, session);
ALTER TABLE ONLY public.talk_backs
    ADD CONSTRAINT talk_backs_pkey PRIMARY KEY (import_id, question);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_case_ref_session_key UNIQUE (case_ref, session);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_pkey PRIMARY KEY (id);
CREATE INDEX by_case ON public.changes USING btree (case_ref, session);
CREATE INDEX by_combination_and_day ON public.treatments USING btree (combination_id, day);
CREATE INDEX talk_backs_by_case ON public.talk_backs USING btree (case_ref, day);
CREATE INDEX undated_d1 ON public.treatments USING btree (day) WHERE ((o1 >= 1) AND (d1 IS NULL));
CREATE UNIQUE INDEX undone_in_order ON public.imports USING btree (undone_number);
CREATE TRIGGER treatments_edited BEFORE UPDATE ON public.treatments FOR EACH ROW EXECUTE FUNCTION public.treatment_edited();
ALTER TABLE ONLY public.changes
    ADD CONSTRAINT changes_import_id_fkey FOREIGN KEY (import_id) REFERENCES public.imports(id);
ALTER TABLE ONLY public.outcome_sources
    ADD CONSTRAINT outcome_sources_import_id_fkey FOREIGN KEY (import_id) REFERENCES public.imports(id);
ALTER TABLE ONLY public.outcome_sources
    ADD CONSTRAINT outcome_sources_outcome_id_fkey FOREIGN KEY (outcome_id) REFERENCES public.outcome_columns(id);
ALTER TABLE ONLY public.outcome_sources
    ADD CONSTRAINT outcome_sources_treatment_id_fkey FOREIGN KEY (treatment_id) REFERENCES public.treatments(id);
ALTER TABLE ONLY public.taken_back
    ADD CONSTRAINT taken_back_import_id_fkey FOREIGN KEY (import_id) REFERENCES public.imports(id);
ALTER TABLE ONLY public.talk_backs
    ADD CONSTRAINT talk_backs_import_id_fkey FOREIGN KEY (import_id) REFERENCES public.imports(id);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_added_by_fkey FOREIGN KEY (added_by) REFERENCES public.imports(id);
ALTER TABLE ONLY public.treatments
    ADD CONSTRAINT treatments_combination_id_fkey FOREIGN KEY (combination_id) REFERENCES public.combinations(id);
