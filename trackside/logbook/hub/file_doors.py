"""Files that a team's notes name, on the hub: their table, and the functions by which a login reads
and gives them. Each looks first whose team it is, as those of `doors` do.

A file is a team's own, also where another team has the same one: whether a hash is known elsewhere
is answered to nobody. The table refers to no team's row: a file that comes in would wait there for
whoever gives revisions, and they for it.
"""

from __future__ import annotations

from typing import Final

from trackside.logbook.attached import MOST_BYTES
from trackside.logbook.hub.connection import HubConnection
from trackside.logbook.hub.doors import (
    CREW_GROUP,
    DEFINER,
    LONGEST_WAIT,
    READER_GROUP,
    for_nobody,
    granted,
)

_READING: Final = ("missing_files(int, bytea[])", "file_part(int, bytea, int, int)")
_GIVING: Final = ("keep_file(int, bytea, bytea)",)

FILE_DOORS: Final = f"""
CREATE TABLE trackside_hub.file (
  team int NOT NULL,
  name bytea NOT NULL,
  content bytea NOT NULL,
  given_at timestamptz NOT NULL DEFAULT clock_timestamp(),
  given_by text NOT NULL DEFAULT session_user,
  PRIMARY KEY (team, name),
  CONSTRAINT file_fits CHECK (octet_length(content) BETWEEN 1 AND {MOST_BYTES}),
  CONSTRAINT file_is_what_was_named CHECK (name = sha256(content))
);
ALTER TABLE trackside_hub.file ALTER COLUMN content SET STORAGE EXTERNAL;
ALTER TABLE trackside_hub.file ENABLE ROW LEVEL SECURITY;

CREATE FUNCTION trackside_hub.refuse_file() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE insufficient_privilege USING MESSAGE = 'a file is never changed';
END $$;
CREATE TRIGGER never_changes BEFORE UPDATE ON trackside_hub.file
  FOR EACH ROW EXECUTE FUNCTION trackside_hub.refuse_file();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON trackside_hub.file
  FOR EACH STATEMENT EXECUTE FUNCTION trackside_hub.refuse_file();

CREATE FUNCTION trackside_hub.missing_files(of_team int, offered bytea[]) RETURNS SETOF bytea
LANGUAGE plpgsql STABLE {DEFINER} AS $$
BEGIN
  PERFORM trackside_hub.check_reads(of_team);
  RETURN QUERY SELECT line.name FROM unnest(offered) AS line (name) WHERE NOT EXISTS (
    SELECT FROM trackside_hub.file AS kept WHERE kept.team = of_team AND kept.name = line.name);
END $$;

CREATE FUNCTION trackside_hub.file_part(of_team int, wanted bytea, behind int, most int)
RETURNS bytea LANGUAGE plpgsql STABLE {DEFINER} AS $$
BEGIN
  PERFORM trackside_hub.check_reads(of_team);
  RETURN (SELECT substring(kept.content FROM behind + 1 FOR most)
    FROM trackside_hub.file AS kept WHERE kept.team = of_team AND kept.name = wanted);
END $$;

CREATE FUNCTION trackside_hub.keep_file(of_team int, name bytea, content bytea) RETURNS void
LANGUAGE plpgsql {DEFINER} SET lock_timeout = '{LONGEST_WAIT}' AS $$
BEGIN
  IF NOT EXISTS (
    SELECT FROM trackside_hub.team AS team
      WHERE team.id = of_team AND pg_has_role(session_user, team.crew::name, 'USAGE')) THEN
    RAISE insufficient_privilege USING MESSAGE = 'this login may not give for this team';
  END IF;
  INSERT INTO trackside_hub.file (team, name, content)
    VALUES (of_team, keep_file.name, keep_file.content) ON CONFLICT DO NOTHING;
END $$;
""" + (
    for_nobody((*_READING, *_GIVING, "refuse_file()"))
    + granted(READER_GROUP, _READING)
    + granted(CREW_GROUP, _GIVING)
)
"""The statements that make them. A hub that was set up before gets them by `hub init` run again."""


def takes_files(wire: HubConnection) -> bool:
    """Whether that hub has a place for files: one that was set up before has none."""
    query = "SELECT to_regprocedure('trackside_hub.keep_file(int, bytea, bytea)') IS NOT NULL"
    return wire.ask(query) == [(True,)]
