"""Who may do what from where: sessions, forged forms, headers, names of this bench, certificates."""
