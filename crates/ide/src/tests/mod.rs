mod parts;
