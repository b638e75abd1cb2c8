"""From a recorded sweep to the impedance of a pickup, with bounds, and a coil model fitted to it."""
