"""Estimates that rest on how places were drawn and on no model: strata, ratios, lines, cells."""
