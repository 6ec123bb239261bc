"""What each command line or form can say."""
