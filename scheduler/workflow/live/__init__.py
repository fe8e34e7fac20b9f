"""Sites as they are served: looked at again whenever somebody asks, and alike in every process."""
