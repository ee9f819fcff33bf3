"""Commands of the pages, one in each file."""
