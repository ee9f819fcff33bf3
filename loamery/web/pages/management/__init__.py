"""Commands of the pages."""
