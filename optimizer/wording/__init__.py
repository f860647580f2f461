"""Every sentence, from typed facts: one place a sentence."""

from optimizer.wording import (
    alignment,
    bands,
    cautions,
    comparison,
    curves,
    custom,
    doubts,
    gauge_questions,
    gauge_remedies,
    gauge_sweeps,
    reach,
    sheets,
    side_effects,
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
    "gauge_questions",
    "gauge_remedies",
    "gauge_sweeps",
    "reach",
    "sheets",
    "side_effects",
    "stops",
]
