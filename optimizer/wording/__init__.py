"""Every sentence, from typed facts: one place a sentence."""

from optimizer.wording import (
    alignment,
    bands,
    cautions,
    comparison,
    curves,
    custom,
    doubts,
    reach,
    sheets,
    stops,
)

__all__ = [  # each registers the sentences of its facts
    "alignment",
    "bands",
    "cautions",
    "comparison",
    "curves",
    "custom",
    "doubts",
    "reach",
    "sheets",
    "stops",
]
