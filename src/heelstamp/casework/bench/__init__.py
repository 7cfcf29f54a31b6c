"""What the bench shows: the rack, what may be asked of a part, where each part stands."""
