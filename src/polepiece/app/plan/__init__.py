"""Parts of the plan's page: the form of complaints and constraints, the rows of the answer."""
