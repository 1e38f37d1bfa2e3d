"""Drawings of the page Whole vehicle that stand beside its tables: pure functions of a plan, as SVG text."""
