"""How many draws of what is not known an interval is made of: usual, least, most."""

DRAWS = 64
LEAST_DRAWS, MOST_DRAWS = 8, 2000
