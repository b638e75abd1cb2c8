"""Parts of the page on which one listens blind: sounds behind addresses that tell nothing, the trial that is on."""
