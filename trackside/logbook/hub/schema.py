"""The hub's tables: one append-only list of revisions a team, proved by the server as it grows.

A revision's `number` is given out under a lock on its team's row that is held until the commit, so
within a team numbers become visible in their own order and a pull may go by them. They are data:
unlike transaction numbers they survive a dump and a move to another server. `chain` is the hash of
the chain before it and the name: who knows one link knows whether all before it is as it was.

Teams share tables: a team is a row and two roles, not a schema with tables, indexes and migrations
of its own. No login but the keeper's may read a table: the plan of a query (EXPLAIN) tells how many
rows all teams have, whatever a policy then shows. The functions of `doors` are the only way in.
"""

from __future__ import annotations

from typing import Final

VERSION: Final = 2
SCHEMA: Final = "trackside_hub"

LONGEST: Final = 16 << 20
"""Bytes of an envelope; what a bundle takes as well."""

START: Final = bytes(32)
"""The link before the first revision."""


def schema(partitions: int = 0) -> str:
    """The statements that make an empty hub's tables, its revisions parted by team if so wished."""
    parted = "PARTITION BY HASH (team)" if partitions else ""
    parts = "".join(
        f"CREATE TABLE trackside_hub.revision_{part} PARTITION OF trackside_hub.revision "
        f"FOR VALUES WITH (MODULUS {partitions}, REMAINDER {part});\n"
        for part in range(partitions)
    )
    tables = _TABLES.replace("/*parted*/", parted).replace("/*parts*/", parts)
    return tables + ASIDE


_TABLES: Final = f"""
CREATE SCHEMA trackside_hub;
CREATE TABLE trackside_hub.about (version int NOT NULL);
INSERT INTO trackside_hub.about VALUES ({VERSION});
CREATE TABLE trackside_hub.team (
  id int PRIMARY KEY,
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
  CONSTRAINT fits CHECK (octet_length(envelope) <= {LONGEST}),
  CONSTRAINT is_what_was_written CHECK (rev = sha256(convert_to(envelope, 'UTF8'))),
  CONSTRAINT is_an_object CHECK (json_typeof(envelope::json) = 'object')
) /*parted*/;
/*parts*/

CREATE FUNCTION trackside_hub.refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE insufficient_privilege USING MESSAGE = 'a revision is never changed or deleted';
END $$;
CREATE TRIGGER never_changes BEFORE UPDATE OR DELETE ON trackside_hub.revision
  FOR EACH ROW EXECUTE FUNCTION trackside_hub.refuse();
CREATE TRIGGER never_emptied BEFORE TRUNCATE ON trackside_hub.revision
  FOR EACH STATEMENT EXECUTE FUNCTION trackside_hub.refuse();

ALTER TABLE trackside_hub.team ENABLE ROW LEVEL SECURITY;
ALTER TABLE trackside_hub.revision ENABLE ROW LEVEL SECURITY;
"""

ASIDE: Final = """
CREATE TABLE trackside_hub.set_aside (
  team int NOT NULL,
  number bigint NOT NULL,
  set_at timestamptz NOT NULL DEFAULT clock_timestamp(),
  set_by text NOT NULL DEFAULT session_user,
  PRIMARY KEY (team, number),
  FOREIGN KEY (team, number) REFERENCES trackside_hub.revision
);
ALTER TABLE trackside_hub.set_aside ENABLE ROW LEVEL SECURITY;
"""
"""What the keeper set aside: it keeps its number and its link, and is handed out no more."""
