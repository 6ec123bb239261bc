"""Many pieces of work at a time: processes of this machine, or of several."""
