"""A pivot made to measure: moves within a box, beside what can be listed."""
