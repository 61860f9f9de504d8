"""The functions by which a login reads and appends: each looks first whose team it is.

A login's roles lead to its teams by an index: to ask of every team whether the login belongs to it
was measured, and grew with the teams.
"""

from __future__ import annotations

from typing import Final

CREW_GROUP: Final = "trackside_hub_crew"
READER_GROUP: Final = "trackside_hub_reader"
"""They hold the grants, and every team's roles are members: a list of grants must fit into one page
of the catalogue, which some hundreds of roles would fill."""

LONGEST_WAIT: Final = "2s"
"""For another member's transfer: one batch takes a fraction of it."""

_READING: Final = (
    "teams()",
    "page(int, bigint, bigint, int, bigint)",
    "some(int, bigint[])",
    "missing(int, bytea[])",
    "link(int, bigint)",
)
_APPENDING: Final = ("append(int, bytea[], text[])",)
_WITHIN: Final = ("roles_of(name)", "check_reads(int)")
DEFINER: Final = "SECURITY DEFINER SET search_path = pg_catalog, pg_temp"

_FUNCTIONS: Final = f"""
CREATE FUNCTION trackside_hub.roles_of(who name) RETURNS text[]
LANGUAGE sql STABLE {DEFINER} AS $$
  WITH RECURSIVE mine AS (
    SELECT to_regrole(quote_ident(who))::oid AS oid
    UNION SELECT roleid FROM pg_auth_members JOIN mine ON member = mine.oid)
  SELECT array_agg(pg_get_userbyid(oid)::text) FROM mine WHERE pg_has_role(who, oid, 'USAGE')
$$;

CREATE FUNCTION trackside_hub.teams(
  OUT id int, OUT code text, OUT name text, OUT may_append boolean, OUT number bigint,
  OUT chain bytea
) RETURNS SETOF record LANGUAGE sql STABLE {DEFINER} AS $$
  SELECT team.id, team.code::text, team.name,
    pg_has_role(session_user, team.crew::name, 'USAGE'), team.number, team.chain
  FROM trackside_hub.team AS team
  WHERE team.reader = ANY ((SELECT trackside_hub.roles_of(session_user))::text[])
  ORDER BY team.name
$$;

CREATE FUNCTION trackside_hub.check_reads(of_team int) RETURNS void
LANGUAGE plpgsql STABLE {DEFINER} AS $$
BEGIN
  IF NOT EXISTS (
    SELECT FROM trackside_hub.team AS team WHERE team.id = of_team
      AND team.reader = ANY ((SELECT trackside_hub.roles_of(session_user))::text[])) THEN
    RAISE insufficient_privilege USING MESSAGE = 'this login is of no such team';
  END IF;
END $$;

CREATE FUNCTION trackside_hub.page(
  of_team int, behind bigint, top bigint, most_rows int, most_bytes bigint,
  OUT number bigint, OUT rev bytea, OUT chain bytea, OUT envelope text
) RETURNS SETOF record LANGUAGE plpgsql STABLE {DEFINER} AS $$
#variable_conflict use_column
BEGIN
  PERFORM trackside_hub.check_reads(of_team);
  RETURN QUERY SELECT number, rev, chain, envelope FROM (
    SELECT number, rev, chain, envelope,
      sum(coalesce(octet_length(envelope), 0)::bigint) OVER (ORDER BY number)
        - coalesce(octet_length(envelope), 0) AS before
    FROM (
      SELECT kept.number, kept.rev, kept.chain,
        CASE WHEN aside.number IS NULL THEN kept.envelope END AS envelope
      FROM trackside_hub.revision AS kept LEFT JOIN trackside_hub.set_aside AS aside
        ON aside.team = kept.team AND aside.number = kept.number
      WHERE kept.team = of_team AND kept.number > behind AND kept.number <= top
      ORDER BY kept.number LIMIT most_rows
    ) AS following
  ) AS page WHERE before < most_bytes ORDER BY number;
END $$;

CREATE FUNCTION trackside_hub.some(
  of_team int, numbers bigint[],
  OUT number bigint, OUT rev bytea, OUT chain bytea, OUT envelope text
) RETURNS SETOF record LANGUAGE plpgsql STABLE {DEFINER} AS $$
#variable_conflict use_column
BEGIN
  PERFORM trackside_hub.check_reads(of_team);
  RETURN QUERY SELECT kept.number, kept.rev, kept.chain,
      CASE WHEN aside.number IS NULL THEN kept.envelope END
    FROM trackside_hub.revision AS kept LEFT JOIN trackside_hub.set_aside AS aside
      ON aside.team = kept.team AND aside.number = kept.number
    WHERE kept.team = of_team AND kept.number = ANY (numbers) ORDER BY kept.number;
END $$;

CREATE FUNCTION trackside_hub.missing(of_team int, offered bytea[]) RETURNS SETOF bytea
LANGUAGE plpgsql STABLE {DEFINER} AS $$
BEGIN
  PERFORM trackside_hub.check_reads(of_team);
  RETURN QUERY SELECT name FROM unnest(offered) AS line (name) WHERE NOT EXISTS (
    SELECT FROM trackside_hub.revision AS kept WHERE kept.team = of_team AND kept.rev = line.name);
END $$;

CREATE FUNCTION trackside_hub.link(of_team int, at bigint) RETURNS bytea
LANGUAGE plpgsql STABLE {DEFINER} AS $$
BEGIN
  PERFORM trackside_hub.check_reads(of_team);
  RETURN (SELECT kept.chain FROM trackside_hub.revision AS kept
    WHERE kept.team = of_team AND kept.number = at);
END $$;

CREATE FUNCTION trackside_hub.append(
  of_team int, names bytea[], envelopes text[],
  OUT before bigint, OUT number bigint, OUT chain bytea
) LANGUAGE plpgsql {DEFINER} SET lock_timeout = '{LONGEST_WAIT}' AS $$
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
"""


def for_nobody(functions: tuple[str, ...]) -> str:
    """The statement by which no login may call them, until one is let."""
    named = ", ".join(f"trackside_hub.{function}" for function in functions)
    return f"REVOKE ALL ON FUNCTION {named} FROM PUBLIC;\n"


def granted(group: str, functions: tuple[str, ...]) -> str:
    """The statement by which the members of a group may call them."""
    named = ", ".join(f"trackside_hub.{function}" for function in functions)
    return f"GRANT EXECUTE ON FUNCTION {named} TO {group};\n"


DOORS: Final = (
    _FUNCTIONS
    + f"""
DO $$ BEGIN
  IF to_regrole('{READER_GROUP}') IS NULL THEN CREATE ROLE {READER_GROUP} NOLOGIN; END IF;
  IF to_regrole('{CREW_GROUP}') IS NULL THEN CREATE ROLE {CREW_GROUP} NOLOGIN; END IF;
END $$;
GRANT USAGE ON SCHEMA trackside_hub TO {READER_GROUP}, {CREW_GROUP};
GRANT SELECT ON trackside_hub.about TO {READER_GROUP};
"""
    + for_nobody((*_READING, *_APPENDING, *_WITHIN, "refuse()"))
    + granted(READER_GROUP, _READING)
    + granted(CREW_GROUP, _APPENDING)
)
"""The statements that make them, and let the members of the two groups use them."""

_OLDER: Final = """
DROP POLICY own ON trackside_hub.revision;
DROP POLICY own ON trackside_hub.team;
DROP FUNCTION trackside_hub.append(int, bytea[], text[]);
DROP FUNCTION trackside_hub.roles_of(name);
DO $$ DECLARE
  each record;
  stem text;
BEGIN
  FOR each IN SELECT id, code, crew, reader FROM trackside_hub.team LOOP
    stem := 'trackside_' || left(replace(each.code::text, '-', ''), 16);
    EXECUTE format('ALTER ROLE %I RENAME TO %I', each.crew, stem || '_crew');
    EXECUTE format('ALTER ROLE %I RENAME TO %I', each.reader, stem || '_reader');
    UPDATE trackside_hub.team SET crew = stem || '_crew', reader = stem || '_reader'
      WHERE id = each.id;
  END LOOP;
END $$;
"""


def from_first(aside: str) -> str:
    """The statements that bring a hub of version 1 up to date, `aside` making its new table: there
    tables were read under policies, and the roles bore the team's name."""
    return (
        f"REVOKE SELECT ON trackside_hub.team, trackside_hub.revision FROM {READER_GROUP};"
        f"{_OLDER}{aside}{DOORS}UPDATE trackside_hub.about SET version = 2;"
    )
