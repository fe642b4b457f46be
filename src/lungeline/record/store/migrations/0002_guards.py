"""Guards in the database itself: entries are added at the end of their case, and never changed or deleted.

They hold back mistakes and foreign programs. Somebody who owns the database can remove them; that is what
the chain is for.
"""

from typing import Any, ClassVar

from django.db import migrations

# A replacing insert deletes the old row without firing a delete trigger, so it is caught as an insert.
_SQLITE = (
    """CREATE TRIGGER record_entry_no_update BEFORE UPDATE ON record_entry
    BEGIN SELECT RAISE(ABORT, 'record entries are never changed'); END""",
    """CREATE TRIGGER record_entry_no_delete BEFORE DELETE ON record_entry
    BEGIN SELECT RAISE(ABORT, 'record entries are never deleted'); END""",
    """CREATE TRIGGER record_entry_at_the_end BEFORE INSERT ON record_entry
    WHEN NEW.seq <> (SELECT COALESCE(MAX(seq), 0) + 1 FROM record_entry WHERE case_id = NEW.case_id)
      OR EXISTS (SELECT 1 FROM record_entry WHERE uid = NEW.uid)
      OR EXISTS (SELECT 1 FROM record_entry WHERE rowid = NEW.rowid)
      OR EXISTS (SELECT 1 FROM record_entry
                 WHERE case_id = NEW.case_id AND device = NEW.device AND device_seq = NEW.device_seq)
    BEGIN SELECT RAISE(ABORT, 'record entries are added at the end of their case only'); END""",
)
_POSTGRESQL = (
    """CREATE FUNCTION record_entry_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN RAISE EXCEPTION 'record entries are never changed or deleted'; END $$""",
    """CREATE FUNCTION record_entry_end() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
      IF NEW.seq <> (SELECT COALESCE(MAX(seq), 0) + 1 FROM record_entry WHERE case_id = NEW.case_id) THEN
        RAISE EXCEPTION 'record entries are added at the end of their case only';
      END IF;
      RETURN NEW;
    END $$""",
    """CREATE TRIGGER record_entry_no_change BEFORE UPDATE OR DELETE ON record_entry
    FOR EACH ROW EXECUTE FUNCTION record_entry_refuse()""",
    """CREATE TRIGGER record_entry_no_truncate BEFORE TRUNCATE ON record_entry
    FOR EACH STATEMENT EXECUTE FUNCTION record_entry_refuse()""",
    """CREATE TRIGGER record_entry_at_the_end BEFORE INSERT ON record_entry
    FOR EACH ROW EXECUTE FUNCTION record_entry_end()""",
)


def set_guards(_apps: Any, schema_editor: Any) -> None:  # noqa: ANN401  as Django calls it
    """Set the guards of the database at hand."""
    for statement in {"sqlite": _SQLITE, "postgresql": _POSTGRESQL}[schema_editor.connection.vendor]:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    """Set the guards; they are not taken away again."""

    dependencies: ClassVar = [("lungeline_record", "0001_entries")]
    operations: ClassVar = [migrations.RunPython(set_guards, atomic=True)]
