"""drainwright: plan, record and prove the relining of sewer laterals."""

__version__ = "0.1.0"
