"""Answers as self-contained pages: what stands on them, their drawings, and the templates."""
