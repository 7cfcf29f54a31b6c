"""Papers: what each reader is told, built from the state of a dossier and its findings."""
