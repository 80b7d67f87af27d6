// Placeholder until forms are there.
