"""Many cars at once: handed out to processes, here or elsewhere, and gathered in order."""
