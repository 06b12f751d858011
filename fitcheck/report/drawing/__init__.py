"""What every picture and paper is drawn with."""
