"""Parts of the pages on the guitar, its drawer and its grades: forms, drawing, levers."""
