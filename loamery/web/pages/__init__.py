"""The pages people work with."""
