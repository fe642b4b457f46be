"""The one compiled time step that couples the sub-models."""
