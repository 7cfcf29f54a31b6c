"""One module a screen: what it asks the desk for, and which template shows it."""
