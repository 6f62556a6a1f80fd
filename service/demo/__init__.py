"""An invented gym with invented people in it, for trying the service out."""
