"""What becomes of a folder whose writer is killed, refused or stopped at any step."""
