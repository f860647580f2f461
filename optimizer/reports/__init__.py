"""Typed results in, one string out; nothing is computed here."""
