"""The steps, one file each; none is changed once it was published."""
