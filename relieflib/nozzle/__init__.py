"""Mass flux through an ideal nozzle, one module per kind of fluid state."""
