"""How long things take, beside a peer that is measured in the same run."""
