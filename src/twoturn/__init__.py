"""twoturn: the bench for people who renew engine timing belts."""
