"""Pages of a card, under /m/."""

from django.urls import path

from workshop.jobs import views

app_name = "jobs"
urlpatterns = [
    path("new/", views.enquiry, name="enquiry"),
    path("new/known/", views.known, name="known"),
    path("card/<int:pk>/", views.card, name="card"),
    path("card/<int:pk>/complaint/", views.complaint_new, name="complaint_new"),
    path("complaint/<uuid:uid>/outcome/", views.outcome, name="outcome"),
    path("card/<int:pk>/line/", views.line_new, name="line_new"),
    path("card/<int:pk>/step/", views.step_new, name="step_new"),
    path("card/<int:pk>/note/", views.note, name="note"),
    path("card/<int:pk>/advise/", views.advise, name="advise"),
    path("card/<int:pk>/ready/", views.ready, name="ready"),
    path("card/<int:pk>/close/", views.close, name="close"),
    path("line/<uuid:uid>/", views.line, name="line"),
    path("line/<uuid:uid>/start/", views.start, name="start"),
    path("line/<uuid:uid>/finish/", views.finish, name="finish"),
]
