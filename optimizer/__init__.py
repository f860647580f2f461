"""Finds which hardware gives the wanted toe curve, from a case file to a ranked report."""
