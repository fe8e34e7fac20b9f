"""The household as a state machine: what people, programs and accidents do, and what has to hold after each step."""
