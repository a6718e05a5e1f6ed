"""Use cases, and the ports through which they reach devices and disks."""
