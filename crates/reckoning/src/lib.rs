//! Follows every lot of yeast through time and reckons the figures of every brew.
