-- Grain: what a share contribution of one position ($position) asks of those weighings of a member together that it asks
-- something of, in `earned_in`.
sum(greatest(e.asked_minor[$position], 0))
