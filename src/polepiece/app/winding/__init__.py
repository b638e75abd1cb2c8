"""What the page for winders is made of: a coil, a batch, a target; each a card with its own work."""
