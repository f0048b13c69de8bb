"""What is picked up from a faired hull: the built-in patterns, and the job that runs them all."""
