"""From past sales and what is known of an instrument to a price distribution, and to the net.

A library of its own: arrays and plain values in, typed results out; it needs NumPy only.

>>> from heelstamp.valuation import Prior, Scale, predict, regress
"""

from heelstamp.valuation.least_squares import LeastSquares, least_squares
from heelstamp.valuation.money import Money, parse_rate
from heelstamp.valuation.predictive import Distribution, predict
from heelstamp.valuation.price_cuts import ageing, payment_day, price_cuts
from heelstamp.valuation.price_index import PriceIndex
from heelstamp.valuation.regression import Fit, Prior, Scale, regress
from heelstamp.valuation.settlement import Settlement, SettlementTerms, least_price_for, settle

__all__ = [
    "Distribution",
    "Fit",
    "LeastSquares",
    "Money",
    "PriceIndex",
    "Prior",
    "Scale",
    "Settlement",
    "SettlementTerms",
    "ageing",
    "least_price_for",
    "least_squares",
    "parse_rate",
    "payment_day",
    "predict",
    "price_cuts",
    "regress",
    "settle",
]
