"""What several shops' censuses say of one change-over, joined without their instruments.

A shop makes a table of each change-over, the log likelihood of every curve given its looks
(`tables`); tables of several shops are joined into one posterior (`joining`), compared with each
other (`misfit`), and, where a shop has too few instruments for a table of its own, added under
masks that cancel (`masks`). Pure: arrays in, arrays out. The method, what it gives away and what
was measured: docs/methods/federation.md.
"""
