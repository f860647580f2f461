"""Every sentence, from typed facts: one place a sentence."""

from optimizer.wording import (
    alignment,
    bands,
    cautions,
    gauge_questions,
    gauge_remedies,
    gauge_sweeps,
    stops,
)

# each registers the sentences of its facts
__all__ = [
    "alignment",
    "bands",
    "cautions",
    "gauge_questions",
    "gauge_remedies",
    "gauge_sweeps",
    "stops",
]
