"""The car that a case describes: its points moved by settings, aligned, and followed exactly."""
