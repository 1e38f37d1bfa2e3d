"""The handout of a plan, as one HTML file and as a workbook."""
