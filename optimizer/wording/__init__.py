"""Every sentence, from typed facts: one place a sentence."""

from optimizer.wording import alignment, bands, cautions, stops

__all__ = ["alignment", "bands", "cautions", "stops"]  # each registers the sentences of its facts
