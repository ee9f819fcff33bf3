"""The command line: the same functions as the library, with tables, progress and JSON."""
