"""What a recording says: the pitch of a fitted string, and noise of the controls."""
