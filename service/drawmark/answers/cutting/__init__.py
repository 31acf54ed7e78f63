"""Helpers of cut plans and orders: candidate lengths, decisions, remedies."""
