"""What is set once at the reference temperature and then held, and whether length and path agree."""
