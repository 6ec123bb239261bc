"""From a job to results and files, a folder for each kind of job."""
