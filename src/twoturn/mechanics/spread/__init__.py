"""How sure it is: everything uncertain, pushed a little or drawn at random, and where the belt comes to rest then."""
