"""What several files of tests ask of one page, or of all pages."""
