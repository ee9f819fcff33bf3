"""The steps of this part's tables; written by Django's makemigrations."""
