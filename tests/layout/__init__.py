"""What is right and wrong in a layout file."""
