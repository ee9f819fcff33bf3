"""The pages people see: what each shows, its templates, and the words in the person's language."""
