"""Lives of instruments: made in a workshop, owned for sixty years, looked at by an examiner.

Another mechanism than the dating model's, written without it: nothing here is drawn from its
tables. Of the maker's chronology only what tells of production is used: change-overs, serial curve
and ways of marking. Every rate is judgement (common practice, no source), drawn anew for each shop
over a wide range. `factory` makes, `owners` wear, mend and swap, `mechanisms` are the five worlds,
`examiner` writes what a dossier would hold, `scored` compares printed words with what was done.
"""
