"""The local server: addresses and who may call, uploads, worker processes, jobs, what all visitors share."""
