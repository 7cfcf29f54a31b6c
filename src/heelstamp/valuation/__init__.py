"""From past sales and what is known of an instrument to a price distribution."""
