"""The first call: what an owner sends and tells before the instrument comes, and what it is worth.

Nothing of it was seen by the shop. Pictures are measured, never recognised: what one shows is told
by whoever sent it. Answers bear on months and price at the chance that such answers are so.
"""
