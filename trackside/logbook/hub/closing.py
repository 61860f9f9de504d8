"""What the server itself tells every login, closed as far as PostgreSQL lets one.

Its catalogue is open to all: how many rows each table has, who is a member of what, who is
connected. Only a superuser can close that, and only for the one database. What stays open is in
DEVELOPERS.md.
"""

from __future__ import annotations

from typing import Final

from trackside.logbook.hub.connection import HubConnection

CLOSING: Final = """
DO $$ DECLARE
  each record;
  keeper name := (SELECT pg_get_userbyid(nspowner) FROM pg_namespace
    WHERE nspname = 'trackside_hub');
  counted text[] := '{relpages,reltuples,relallvisible,relallfrozen}';
  shown text;
BEGIN
  FOR each IN SELECT oid::regclass AS it FROM pg_class
    WHERE relnamespace = 'pg_catalog'::regnamespace AND relkind IN ('r', 'v')
      AND (relname ~ '^pg_stat(io)?_' OR relname IN (
        'pg_roles', 'pg_user', 'pg_group', 'pg_auth_members', 'pg_locks', 'pg_db_role_setting',
        'pg_shdepend', 'pg_prepared_xacts', 'pg_replication_slots'))
  LOOP
    EXECUTE format('REVOKE SELECT ON %s FROM PUBLIC', each.it);
    EXECUTE format('GRANT SELECT ON %s TO pg_monitor, %I', each.it, keeper);
  END LOOP;
  FOR each IN SELECT oid::regprocedure AS it FROM pg_proc
    WHERE pronamespace = 'pg_catalog'::regnamespace AND (proname ~ '^pg_stat_get_'
      OR proname IN (
        'pg_relation_size', 'pg_table_size', 'pg_total_relation_size', 'pg_indexes_size',
        'pg_database_size', 'pg_tablespace_size', 'pg_get_userbyid', 'pg_lock_status',
        'pg_blocking_pids', 'pg_prepared_xact', 'pg_get_replication_slots', 'pg_has_role'))
  LOOP
    EXECUTE format('REVOKE EXECUTE ON FUNCTION %s FROM PUBLIC', each.it);
    EXECUTE format('GRANT EXECUTE ON FUNCTION %s TO pg_monitor, %I', each.it, keeper);
  END LOOP;
  SELECT string_agg(quote_ident(attname), ', ') INTO shown FROM pg_attribute
    WHERE attrelid = 'pg_class'::regclass AND NOT attisdropped AND attname <> ALL (counted);
  REVOKE SELECT ON pg_class FROM PUBLIC;
  EXECUTE format('GRANT SELECT (%s) ON pg_class TO PUBLIC', shown);
  EXECUTE format('GRANT SELECT ON pg_class TO pg_monitor, %I', keeper);
END $$;
"""


_IS_CLOSED: Final = """
SELECT NOT (has_table_privilege('public', 'pg_auth_members', 'SELECT')
  OR has_column_privilege('public', 'pg_class', 'reltuples', 'SELECT')
  OR has_function_privilege('public', 'pg_stat_get_live_tuples(oid)', 'EXECUTE'))"""


def close(wire: HubConnection) -> bool:
    """Close what can be closed; False where it is open and this login may not."""
    if wire.ask(_IS_CLOSED) == [(True,)]:
        return True
    [(is_superuser,)] = wire.ask("SELECT current_setting('is_superuser') = 'on'")
    if is_superuser:
        wire.run(CLOSING)
    return bool(is_superuser)
