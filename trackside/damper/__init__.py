"""The damper: flow, clicks, dyno sheets, gas and oil. Plain functions on arrays, SI inside."""
