"""Parts that several pages share: theme, place in the header, controls, numbers, curves, player."""
