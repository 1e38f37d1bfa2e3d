"""What a person does on a page comes to the kernel in order and once; what they choose, tick and press."""
