"""Entries of form 1 read into today's kinds: the one place where a sentence is read back.

Form 1 kept as words what has fields of its own now. A body is first held against the records of
form 1, as it was when it was entered; then its words are taken apart, exactly as the program of
form 1 read them back. What cannot be converted is kept as it is (`Unconverted`). Words that say
more than the fields do stay in the note.
"""

from heelstamp.catalogue.form1.converting import convert_form1, typed

__all__ = ["convert_form1", "typed"]
