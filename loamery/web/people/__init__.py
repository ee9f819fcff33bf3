"""People: who they are, which gardens they belong to, and what they may do there."""
