"""Parts of the work sheet's page: choice of the job, readings, what is done, open jobs."""
