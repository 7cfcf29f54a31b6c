"""What should be done to it: each act with cost, harm and what of the price it may change."""
