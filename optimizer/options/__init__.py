"""Which settings there are, which of them is best, and the proof that it is."""
