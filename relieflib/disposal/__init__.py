"""What lies behind the valves: header, knock-out drum, stack, release to a safe place."""
