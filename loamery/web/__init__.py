"""The web page: the face for people who do not program, and the records of a garden."""
