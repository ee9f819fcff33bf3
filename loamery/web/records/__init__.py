"""The records of gardens in a database: every change kept, nothing lost, and the way to and from a garden folder."""
