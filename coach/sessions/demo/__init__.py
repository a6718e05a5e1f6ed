"""The whole job on a bundled piece, with a simulated learner."""
