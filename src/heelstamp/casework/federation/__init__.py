"""Learning from several shops: tables made of a census, read, and joined into a new edition."""
