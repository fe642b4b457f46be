"""A clinic that does not exist, to look around in: its animals are simulated, its people made up."""

from lungeline.theatre.demo.clinic import make_clinic

__all__ = ["make_clinic"]
