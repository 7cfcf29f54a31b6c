"""The invented scenario of the demonstration: what happened at the bench, and its pictures."""
