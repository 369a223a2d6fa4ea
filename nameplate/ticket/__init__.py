"""The job ticket: its schema, its reader, its checks, a starter."""
