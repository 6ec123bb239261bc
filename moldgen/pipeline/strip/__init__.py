"""From a job to a bent strip with jigs and directions."""
