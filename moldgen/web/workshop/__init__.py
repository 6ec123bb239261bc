"""What is made of all approved designs of a class: in a process of its own, kept with the class."""
