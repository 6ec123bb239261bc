"""From a part to trim lines, tools and what is printed to trim by."""
