"""What a drive is: its file, its parts, the belt's path, turning, marks and the order of threading."""
