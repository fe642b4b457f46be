"""What does happen: readings and curves, from people, files, machines and the simulated animal."""
