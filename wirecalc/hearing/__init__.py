"""What a difference between two wires means to a listener: in words, in sound, in a blind test."""
