"""What a careful installer would sign: sizes and fuses by rules of safety, limits of taste and the shop's own rules."""
