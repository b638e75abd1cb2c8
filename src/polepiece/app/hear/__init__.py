"""Parts of the page that plays: states, sounds made and kept, what is heard and read."""
