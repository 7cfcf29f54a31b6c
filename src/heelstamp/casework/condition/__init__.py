"""Condition: what is not whole, how that changed between two visits, and six separate grades."""
