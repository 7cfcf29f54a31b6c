"""The shop's census: closed instruments kept to learn from, and to date again."""
