"""On the way: how an instrument is packed, what a logger saw, when the parcel may be opened."""
