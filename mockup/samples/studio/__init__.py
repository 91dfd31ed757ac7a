"""The photo of the tunic on a dress form: sewn as a mesh, draped by simulation, lit and photographed."""
