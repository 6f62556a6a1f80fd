"""What goes over the wire: strict on the way in, open on the way out."""
