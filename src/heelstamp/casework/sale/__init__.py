"""A sale from the end of the examination to the last payout: blocks, steps, sums."""
