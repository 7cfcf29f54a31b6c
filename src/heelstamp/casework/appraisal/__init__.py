"""Appraisal: comparables, the price of one instrument, terms of consignment, what may be listed."""
