"""A text of an instrument for sale, made of the sentences of its report and held against it."""
