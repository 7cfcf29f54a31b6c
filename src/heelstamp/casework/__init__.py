"""The trade's procedures, pure over ports: dossiers, chronologies, dating, papers."""
