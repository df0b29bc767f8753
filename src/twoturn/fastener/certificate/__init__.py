"""Digital calibration certificates of torque tools, in the open XML schema of Germany's metrology institute (PTB)."""
