"""The work of a class: a job for each person, built side by side, and the lists that go with it."""
