"""The gauge loop: readings, what they say is wrong, the corrected model, the next stack."""
