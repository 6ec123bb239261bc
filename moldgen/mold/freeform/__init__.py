"""Any height field made formable: draft by an envelope, radii by a ball."""
