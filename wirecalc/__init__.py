"""What a run of wire in a vehicle costs, and which conductor to pull.

SI floats and numpy arrays inside; text and pint quantities enter and leave through `wirecalc.units`.
"""
