"""Sound in and out: devices, files, slowing down."""
