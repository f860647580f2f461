"""Both wheels of a car measured: every command's answer for the two, and what parts them."""
