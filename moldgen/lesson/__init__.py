"""A lesson at the forming table: what a class makes, laid out on sheets, beds and stock."""
