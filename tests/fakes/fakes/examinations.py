"""An examination file with an entry of every kind, for tests to take apart."""

EXAMINATION = """schema = "heelstamp/examination/2"

[instrument]
kind = "guitar"
maker = "Sallowby Instrument Works"
model = "Wherry"
claimed = "1965"
chronology = "sallowby-wherry"

[[treatment]]
id = "t1"
act = "lift guard"
part = "guard"
reason = "the pots' codes"
reversible = true
before = ["F1"]
after = ["m1"]

[[observation]]
id = "o1"
part = "neck"
kind = "mark"
status = "read"
text = "65/0?"
frames = ["F1"]
readings = [
  { period = "1965-03", weight = 0.75 },
  { period = "1965-08", weight = 0.25 },
]

[[observation]]
id = "o2"
part = "body"
kind = "mark"
status = "absent"

[[observation]]
id = "o3"
part = "guard"
kind = "feature"
status = "read"
feature = "f10"
variant = "three-layer laminate"

[[measurement]]
id = "m1"
quantity = "resistance"
part = "pickup_neck"
value = 6.42
unit = "kΩ"
stage = "found"
temperature = 24.5

[[photograph]]
id = "F1"
file = "0000000000000000000000000000000000000000000000000000000000000000"
name = "heel.jpg"
media_type = "image/jpeg"
width = 4000
height = 3000
part = "neck"
taken = 2026-11-02T09:14:00Z

[[recording]]
id = "R1"
file = "1111111111111111111111111111111111111111111111111111111111111111"
name = "tone pot.wav"
media_type = "audio/wav"
what = "sweep"
part = "pot_tone"

[[consent]]
id = "c1"
act = "lift guard"
granted = true
by = "a consignor"

[[custody]]
id = "k1"
event = "received"
giver = "a consignor"
receiver = "examiner A"
weight_g = 3284
weight_uncertainty_g = 2

[[contents]]
id = "i1"
item = "repair docket of 1988"
link = "unrelated"

[[statement]]
id = "s1"
role = "consignor"
about = "strings"
text = "put on about ten years ago"
signed = true

[[decision]]
id = "d1"
about = "strings"
decided = "take off"
reason = "not the first set"
"""
