"""Stage 5: the block register, a pure function of its inputs."""
