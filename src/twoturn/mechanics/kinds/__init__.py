"""Every kind of tensioner: where its pulley stands at a pointer, and how hard it pushes."""
