"""Two visits of one face in ordinary light: laid over each other, and where they differ."""
