"""The hot sheet as a hyperelastic membrane: mesh, forces, contact, time steps."""
