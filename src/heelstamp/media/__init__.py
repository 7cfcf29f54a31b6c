"""Files and photographs: kept by content, read with care, sent out bare.

Import its modules only when a file is read or kept: the picture library takes a while to load.
"""
