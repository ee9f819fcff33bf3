"""The interface for programs: the records of a garden by token, in the shape of the garden folder."""
