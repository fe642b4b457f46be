"""Where entries are kept: SQLite in a folder, or PostgreSQL by one URL. The only part that knows a database.

Begin with `open_store` of `lungeline.record.store.opening`. Nothing is imported here, as Django loads this
package before it is ready for models.
"""
