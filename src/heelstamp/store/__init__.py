"""The database of a shop: SQLite by default, PostgreSQL when it outgrows one machine.

Import its modules only when a shop is opened: the database library takes a third of a second.
"""
