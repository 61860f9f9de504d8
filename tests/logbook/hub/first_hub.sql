-- The hub as the first version of it was made, with one team.
CREATE SCHEMA trackside_hub;
CREATE TABLE trackside_hub.about (version int NOT NULL);
INSERT INTO trackside_hub.about VALUES (1);
CREATE TABLE trackside_hub.team (
  id int GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  code uuid NOT NULL UNIQUE,
  name text NOT NULL UNIQUE,
  crew text NOT NULL UNIQUE,
  reader text NOT NULL UNIQUE,
  number bigint NOT NULL DEFAULT 0,
  chain bytea NOT NULL DEFAULT decode(repeat('00', 32), 'hex')
) WITH (fillfactor = 50);
CREATE TABLE trackside_hub.revision (
  team int NOT NULL REFERENCES trackside_hub.team,
  number bigint NOT NULL,
  rev bytea NOT NULL,
  chain bytea NOT NULL,
  envelope text NOT NULL,
  pushed_at timestamptz NOT NULL DEFAULT clock_timestamp(),
  pushed_by text NOT NULL DEFAULT session_user,
  PRIMARY KEY (team, number),
  UNIQUE (team, rev),
  CONSTRAINT fits CHECK (octet_length(envelope) <= 16777216),
  CONSTRAINT is_what_was_written CHECK (rev = sha256(convert_to(envelope, 'UTF8'))),
  CONSTRAINT is_an_object CHECK (json_typeof(envelope::json) = 'object')
) ;


CREATE FUNCTION trackside_hub.refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE insufficient_privilege USING MESSAGE = 'a revision is never changed or deleted';
END $$;
CREATE TRIGGER never_changes BEFORE UPDATE OR DELETE ON trackside_hub.revision
  FOR EACH ROW EXECUTE FUNCTION trackside_hub.refuse();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON trackside_hub.revision
  FOR EACH STATEMENT EXECUTE FUNCTION trackside_hub.refuse();

CREATE FUNCTION trackside_hub.roles_of(who name) RETURNS text[]
LANGUAGE sql STABLE SET search_path = pg_catalog, pg_temp AS $$
  WITH RECURSIVE mine AS (
    SELECT to_regrole(quote_ident(who))::oid AS oid
    UNION SELECT roleid FROM pg_auth_members JOIN mine ON member = mine.oid)
  SELECT array_agg(pg_get_userbyid(oid)::text) FROM mine WHERE pg_has_role(who, oid, 'USAGE')
$$;

ALTER TABLE trackside_hub.team ENABLE ROW LEVEL SECURITY;
CREATE POLICY own ON trackside_hub.team FOR SELECT
  USING (reader = ANY ((SELECT trackside_hub.roles_of(current_user))::text[]));
ALTER TABLE trackside_hub.revision ENABLE ROW LEVEL SECURITY;
CREATE POLICY own ON trackside_hub.revision FOR SELECT
  USING (team IN (SELECT id FROM trackside_hub.team));

CREATE FUNCTION trackside_hub.append(
  of_team int, names bytea[], envelopes text[],
  OUT before bigint, OUT number bigint, OUT chain bytea
) LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
#variable_conflict use_column
DECLARE
  top bigint;
  link bytea;
  given record;
BEGIN
  SELECT team.number, team.chain INTO top, link FROM trackside_hub.team AS team
    WHERE team.id = of_team AND pg_has_role(session_user, team.crew::name, 'USAGE')
    FOR UPDATE;
  IF NOT FOUND THEN
    RAISE insufficient_privilege USING MESSAGE = 'this login may not append for this team';
  END IF;
  before := top;
  FOR given IN SELECT name, envelope FROM unnest(names, envelopes) AS line (name, envelope) LOOP
    CONTINUE WHEN EXISTS (
      SELECT FROM trackside_hub.revision AS kept
        WHERE kept.team = of_team AND kept.rev = given.name);
    top := top + 1;
    link := sha256(link || given.name);
    INSERT INTO trackside_hub.revision (team, number, rev, chain, envelope)
      VALUES (of_team, top, given.name, link, given.envelope);
  END LOOP;
  UPDATE trackside_hub.team AS team SET number = top, chain = link WHERE team.id = of_team;
  append.number := top;
  append.chain := link;
END $$;
REVOKE ALL ON FUNCTION trackside_hub.append(int, bytea[], text[]) FROM PUBLIC;

DO $$ BEGIN
  IF to_regrole('trackside_hub_reader') IS NULL THEN CREATE ROLE trackside_hub_reader NOLOGIN; END IF;
  IF to_regrole('trackside_hub_crew') IS NULL THEN CREATE ROLE trackside_hub_crew NOLOGIN; END IF;
END $$;
GRANT USAGE ON SCHEMA trackside_hub TO trackside_hub_reader, trackside_hub_crew;
GRANT SELECT ON trackside_hub.about, trackside_hub.team, trackside_hub.revision TO trackside_hub_reader;
GRANT EXECUTE ON FUNCTION trackside_hub.append(int, bytea[], text[]) TO trackside_hub_crew;

CREATE ROLE trackside_harrow_fen_12ab34_reader NOLOGIN;
CREATE ROLE trackside_harrow_fen_12ab34_crew NOLOGIN;
GRANT trackside_hub_reader TO trackside_harrow_fen_12ab34_reader;
GRANT trackside_hub_crew TO trackside_harrow_fen_12ab34_crew;
GRANT trackside_harrow_fen_12ab34_reader TO trackside_harrow_fen_12ab34_crew;
INSERT INTO trackside_hub.team (code, name, crew, reader) VALUES (
  '3f6d0c1e-52f0-4c8b-9d0e-6a1f4b12ab34', 'Harrow Fen',
  'trackside_harrow_fen_12ab34_crew', 'trackside_harrow_fen_12ab34_reader');
