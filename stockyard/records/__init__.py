"""The database: tables, repositories, unit of work, migrations."""
