"""Statics of a rigid body, without one workholding word."""
