"""Files as strangers bring them: damaged, half written, or made to hurt; every reader answers."""
