"""What the page on which a guitar is entered is made of."""
