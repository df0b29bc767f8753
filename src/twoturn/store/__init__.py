"""The record: database, evidence files, migrations, backup. Only here is SQL; nothing here reads a clock or judges."""
