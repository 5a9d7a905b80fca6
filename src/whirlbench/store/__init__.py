"""Where a room keeps its work: SQLite by default, PostgreSQL by URL; nothing that was saved is overwritten."""
