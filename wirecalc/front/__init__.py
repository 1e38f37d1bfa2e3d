"""The front door: one call for each thing that is asked of wirecalc most, with text, pint quantities or SI floats.

`wirecalc` itself imports from here, lazily. Answers are plain objects with `table`, a tidy DataFrame whose columns name
their units, and `words`, what a person is told. Nothing is computed here: the layers below do that.
"""
