"""Tinwright's engine: an exact works cost and price for every piece of a workshop's book.

Standard library only; frozen values; no input or output, no clock, no float in a price.
"""
