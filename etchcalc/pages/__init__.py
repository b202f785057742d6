"""What people see: drawings, figures, panels, the printed record, the command line."""
