"""Headings of reports, on terminals and on pages alike."""

TOE_CURVES = "Toe change over the used travel"
HEADINGS = {
    "build": "What to build, and where it goes",
    "custom": "A pivot made to measure",
    "curves": "How toe changes over the travel",
    "ranking": "What to fit, best first",
    "chances": "How each comes out on the car",
    "read first": "What to read first",
    "read next": "What to read next",
    "linkage": "The linkage, to scale",
    "limits": "What is left of the limits, over travel and lock",
    "side effects": "What else it changes",
    "readings": "What the gauge should read afterwards",
    "cautions": "Before it goes on the road",
    "now": "What the car does now",
    "assumed": "What was assumed",
    "companions": "Toe and its companions, height by height",
    "compared": "Left against right, nothing fitted",
    "doubts": "Worth a second look",
    "case": "What the case amounts to",
    "map": "Peak toe change by ride height",
    "read": "What the gauge says",
    "rows": "What was read, as toe",
    "questions": "Questions about the readings",
    "moved": "What the readings make of the points",
}
