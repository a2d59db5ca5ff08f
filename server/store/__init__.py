"""The store: tables, rows to book and back, durable commits on SQLite or PostgreSQL."""
