"""Panels: widgets read into one request, one call of wirecalc, one drawing. No physics here."""
