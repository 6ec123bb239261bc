"""What the page keeps: classes, names, designs with all their versions, and what was handed in."""
