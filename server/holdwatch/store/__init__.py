"""The database: its tables, its migrations, and how a transaction begins."""
