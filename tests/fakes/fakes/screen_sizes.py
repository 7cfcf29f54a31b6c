"""Sizes of screen that the bench is looked at in."""

SIZES = {"phone": (390, 844), "tablet": (820, 1180), "desk": (1440, 900)}
