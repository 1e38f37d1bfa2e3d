"""At the bench: what an unmarked wire is, and whether a finished run measures as it should."""
