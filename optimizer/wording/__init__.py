"""Every sentence, from typed facts: one place a sentence."""
